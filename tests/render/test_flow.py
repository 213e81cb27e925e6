"""Weak words and links: only in the full swap, explained only where they stand.

The signs are those of the IPA chart (2020): ‿ linking (absence of a break),
˘ extra-short; scansion uses the breve for a weak syllable too.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from typing import Any

import msgspec
import pypdf
import pytest
from markdown_it import MarkdownIt
from sheet_factory import (
    PASSAGE,
    make_drill,
    make_sheet,
    render_markdown,
    render_pdf,
    render_text,
)

from drillgen.core.document import LINK, WEAK
from drillgen.core.options import PageOptions
from drillgen.core.values import Drill, Flow, Line, VersionKind, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.sheets.content import (
    iter_sentences,
    marks_used,
    version_label,
)
from drillgen.sheets.parts import explain_signs
from drillgen.write.breaks import GAP
from drillgen.write.columns import width_of

ORDINARY, DISCREET = choose_wording(False), choose_wording(True)
TEXT = "Joan opens the gate and looks at it."
WEAKS = {"the", "and", "at"}
LINKS = {"Joan", "gate", "looks", "at"}


def flowing(
    text: str = TEXT, weak: set[str] | None = None, linked: set[str] | None = None
) -> Drill:
    """A drill whose words are weak or linked by their spelling."""
    drill = make_drill(text)
    weak, linked = WEAKS if weak is None else weak, LINKS if linked is None else linked
    return replace(
        drill,
        flow=tuple(
            tuple(Flow(token.text in weak, token.text in linked) for token in phrase.tokens)
            for phrase in drill.phrases
        ),
    )


def sheet_of(drill: Drill, **options: Any) -> Worksheet:
    return replace(make_sheet("Quay.", **options), drills=(drill,))


def pdf_text(sheet: Worksheet, *, large: bool = False) -> str:
    reader = pypdf.PdfReader(BytesIO(render_pdf(sheet, PageOptions(large=large))), strict=True)
    return "\n".join(page.extract_text() for page in reader.pages)


RENDERERS: list[Callable[[Worksheet], str]] = [render_markdown, render_text, pdf_text]


def words_of(drill: Drill, kind: VersionKind = VersionKind.FULL) -> str:
    version = next(v for v in drill.versions if v.kind is kind)
    return " ".join(
        f"{word.original or word.text}{WEAK * word.weak}{LINK * word.linked}"
        for sentence in iter_sentences(drill, version, flow=True)
        for word in sentence.words
    )


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        # The last word has the nucleus, and so is never light.
        ("Joan opens the gate and", "Joan‿ opens the˘ gate‿ and"),
        # Quotation marks don't part words; other marks do, even without a pause.
        ("a gate” and", "a gate”‿ and"),
        ("“the gate", "“the˘ gate"),
        ("gate/and", "gate/and"),
        ("gate * and", "gate * and"),
        ("gate …and", "gate …and"),
        ("Joan’s gate", "Joan’s gate"),
        ("open the\ngate\nand", "open the˘ gate‿ and"),
        # A link needs a word to lead to.
        ("the gate", "the˘ gate"),
        ("the gate”", "the˘ gate”"),
    ],
)
def test_words(text: str, shown: str) -> None:
    assert words_of(flowing(text)) == shown


def test_a_comma_without_a_pause_bars_a_link() -> None:
    drill = flowing("Joan, and")
    full = drill.versions[0]
    tokens = sum((phrase.tokens for phrase in drill.phrases), ())
    phrase = msgspec.structs.replace(drill.phrases[0], tokens=tokens)
    line = Line(sum((line.cells for line in full.lines), ()))
    joined = replace(
        drill,
        phrases=(phrase,),
        readings=(sum(drill.readings, ()),),
        flow=(sum(drill.flow, ()),),
        versions=(replace(full, lines=(line,)),),
    )
    assert words_of(joined) == "Joan, and˘"
    assert LINK not in marks_used((joined,))


@pytest.mark.parametrize("kind", [VersionKind.PARTIAL, VersionKind.MARKED])
def test_other_versions_stay_plain(kind: VersionKind) -> None:
    assert not {LINK, WEAK} & set(words_of(flowing(), kind))


@pytest.mark.parametrize(
    ("weak", "linked", "used"),
    [
        (WEAKS, LINKS, {LINK, WEAK}),
        (WEAKS, set(), {WEAK}),
        (set(), LINKS, {LINK}),
        (set(), set(), set()),
        (set(), {"it"}, set()),
    ],
)
def test_marks_are_explained_where_they_are_used(
    weak: set[str], linked: set[str], used: set[str]
) -> None:
    drill = flowing(weak=weak, linked=linked)
    signs = marks_used((drill,))
    assert signs & {LINK, WEAK} == used
    assert not marks_used((drill,), flow=False) & {LINK, WEAK}
    rows = {sign.mark for sign in explain_signs(signs, ORDINARY)}
    assert rows & {LINK, WEAK} == used
    hidden = {sign.mark for sign in explain_signs(signs, ORDINARY, flow=False)}
    assert hidden == rows - used
    note = version_label(drill.versions[0], drill, ORDINARY, flow=True)[1]
    assert set(note) & {LINK, WEAK} == used
    assert ("chant" in note) == bool(used)
    partial_note = version_label(drill.versions[1], drill, ORDINARY, flow=True)[1]
    assert not set(partial_note) & {LINK, WEAK}


@pytest.mark.parametrize("render", RENDERERS)
def test_every_format_shows_and_explains_them(render: Callable[[Worksheet], str]) -> None:
    drill = flowing()
    shown = render(sheet_of(drill))
    # One in the key at the foot, the rest in the full swap.
    assert shown.count(LINK) == 1 + 4
    assert shown.count(WEAK) == 1 + 3
    assert "lead over" in shown
    assert "light word" in shown
    for bare in (
        render(sheet_of(drill, show_flow=False)),
        render(sheet_of(flowing(weak=set(), linked=set()))),
        render(sheet_of(replace(drill, versions=drill.versions[1:]))),
    ):
        assert not {LINK, WEAK} & set(bare)
        assert "lead over" not in bare
        assert "light word" not in bare


@pytest.mark.parametrize("render", RENDERERS)
def test_a_discreet_sheet_names_its_own_deliveries(render: Callable[[Worksheet], str]) -> None:
    shown = " ".join(render(sheet_of(flowing(), discreet=True)).split())
    assert "Say it slowly on G3 (196 Hz); then with rise and fall" in shown.replace("\u00a0", " ")
    for sign in (LINK, WEAK):
        assert DISCREET.name_mark(sign) in shown
    assert "chant" not in shown.lower()


def test_text_stays_aligned() -> None:
    shown, bare = (render_text(sheet_of(flowing(), show_flow=flag)) for flag in (True, False))
    above, below = shown[shown.index("1.  Joan") :].splitlines()[:2]
    words = TEXT.split()
    assert above.split()[1:] == [word + WEAK * (word in WEAKS) for word in words]
    assert [word[-1] == LINK for word in below.split()] == [word in LINKS for word in words]
    for word in above.split()[1:]:
        at = f" {above} ".index(f" {word} ")
        assert below[at - 2 : at] == "  "
        assert below[at] != " "
    assert max(map(width_of, shown.splitlines())) <= 78
    assert " ".join(shown.translate({ord(LINK): "", ord(WEAK): ""}).split()).count(
        " ".join(bare[bare.index("1.  Joan") :].splitlines()[0].split())
    )


def test_markdown_stays_a_table_with_the_link_outside_of_bold() -> None:
    text = render_markdown(sheet_of(flowing()))
    table = text[text.index("| 1 ") :].split("\n\n")[0].splitlines()
    assert len(set(map(width_of, table))) == 1
    assert [cell.strip() for cell in table[0].split("|")][2:5] == ["Joan", "opens", "the˘"]
    assert re.fullmatch(r"\*\*\w+\*\*‿", table[2].split("|")[2].strip())
    html = MarkdownIt("commonmark").enable("table").render(text)
    assert re.search(r"<td><strong>\w+</strong>‿</td>", html)


def glyphs_of(sheet: Worksheet, *, large: bool = False) -> list[tuple[str, float, float, float]]:
    """Each stretch of glyphs with its place on its page and its size, in points."""
    found: list[tuple[str, float, float, float]] = []

    def visit(text: str, cm: list[float], tm: list[float], _: object, size: float) -> None:
        if text.strip():
            x, y = cm[0] * tm[4] + cm[4], cm[3] * tm[5] + cm[5]
            size = abs(size * tm[3] * cm[3])
            x += (len(text) - len(text.lstrip())) * GAP * 0.2 * size
            found.append((text.strip(), round(x, 1), y, size))

    for page in pypdf.PdfReader(BytesIO(render_pdf(sheet, PageOptions(large=large)))).pages:
        page.extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize("large", [False, True])
def test_the_marks_move_nothing_in_the_pdf(large: bool) -> None:
    reading = 25 if large else 15.8

    def places(show: bool) -> list[tuple[str, float | None]]:
        """Each word, or the part of one that is of one face, with its place if glyphs begin
        with it."""
        glyphs = glyphs_of(sheet_of(flowing(), show_flow=show), large=large)
        return [
            (word, None if number else x)
            for text, x, _, size in glyphs
            if size == pytest.approx(reading)
            for number, word in enumerate(text.split())
        ]

    shown, plain = places(True), places(False)
    assert [word for word, _ in shown] == [word for word, _ in plain]
    both = [(x, y) for (_, x), (_, y) in zip(shown, plain, strict=True) if x and y]
    assert len(both) > len(shown) / 2
    moved = [(x, y) for x, y in both if x != pytest.approx(y, abs=0.2)]
    assert not moved
    assert len(shown) >= 3 * len(TEXT.split())


@pytest.mark.parametrize("large", [False, True])
def test_a_tie_never_goes_to_the_next_line_alone(large: bool) -> None:
    reading = 25 if large else 15.8
    text = " ".join(["Joan"] * 60) + " opens."
    glyphs = glyphs_of(sheet_of(flowing(text, set(), {"Joan"})), large=large)
    ties = [
        (x, y)
        for sign, x, y, size in glyphs
        if sign == LINK and size == pytest.approx(reading * 0.84)
    ]
    words = [(x, y) for _, x, y, size in glyphs if size == reading]
    assert len(ties) == 60
    for x, y in ties:
        assert any(left < x and abs(y - base) < 2 for left, base in words)


def count_shown(sheet: Worksheet) -> tuple[int, int]:
    """Text operators that are artifacts, and those that are content."""
    counts = [0, 0]
    for page in pypdf.PdfReader(BytesIO(render_pdf(sheet, PageOptions()))).pages:
        marked: list[bool] = []
        contents = page.get_contents()
        assert contents is not None
        for operands, operator in pypdf.generic.ContentStream(contents, page.pdf).operations:
            if operator in (b"BDC", b"BMC"):
                marked.append(operands[0] == "/Artifact")
            elif operator == b"EMC":
                marked.pop()
            elif operator in (b"Tj", b"TJ"):
                counts[0 if any(marked) else 1] += 1
    return counts[0], counts[1]


def test_a_screen_reader_gets_the_marks() -> None:
    """ISO 14289-1, 7.1: what says something is content, not an artifact."""
    artifacts, content = count_shown(sheet_of(flowing()))
    bare_artifacts, bare_content = count_shown(sheet_of(flowing(), show_flow=False))
    assert artifacts == bare_artifacts
    assert content >= bare_content + len(WEAKS) + len(LINKS)


@pytest.mark.parametrize("large", [False, True])
def test_the_marks_cost_no_page(large: bool) -> None:
    drill = flowing(PASSAGE, {"The", "the", "and", "of", "a"}, {"gulls", "apples", "looks", "man"})

    def count_pages(show: bool) -> int:
        data = render_pdf(sheet_of(drill, show_flow=show), PageOptions(large=large))
        return len(pypdf.PdfReader(BytesIO(data)).pages)

    assert count_pages(True) == count_pages(False)
