"""One document, one writer a format: PDF (typst), Markdown, plain text, HTML, JSON.

The practice page, which is an instrument and no document, is written here too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from drillgen.core.document import Block, Document
from drillgen.core.options import Format, PageOptions

Writer = Callable[[Document, PageOptions], bytes]


def find_writer(form: Format) -> Writer:
    """The writer of a format. To add one, add it here and to `Format`."""
    # Imported when used: a PDF needs no jinja2, a text no typesetter.
    match form:
        case Format.PDF:
            from drillgen.write.pdf import write_pdf

            return write_pdf
        case Format.MARKDOWN:
            from drillgen.write.markdown import write_markdown

            return lambda document, _: write_markdown(document).encode()
        case Format.TEXT:
            from drillgen.write.plain import write_plain

            return lambda document, _: write_plain(document).encode()
        case Format.HTML:
            from drillgen.write.html import write_html

            return lambda document, page: write_html(document, page).encode()
        case Format.JSON:
            from drillgen.write.json import write_json

            return lambda document, _: write_json(document).encode()


def render(document: Document, form: Format, page: PageOptions | None = None) -> bytes:
    """A document in a format; `page` (A4, normal print) matters on paper only.

    >>> import drillgen
    >>> sheet = drillgen.Worksheet((drillgen.make_drill("Two boats."),), "Boats", None)
    >>> render(drillgen.lay_out_drills(sheet), Format.MARKDOWN).decode().splitlines()[0]
    '# Boats'
    """
    return find_writer(form)(document, page or PageOptions())


def render_stream(head: Document, blocks: Iterable[Block], form: Format) -> Iterator[bytes] | None:
    """A document in pieces, in flat memory; None where a format can't be written so."""
    match form:
        case Format.MARKDOWN:
            from drillgen.write.markdown import iter_markdown

            return (piece.encode() for piece in iter_markdown(head, blocks))
        case Format.TEXT:
            from drillgen.write.plain import iter_plain

            return (piece.encode() for piece in iter_plain(head, blocks))
        case _:
            return None
