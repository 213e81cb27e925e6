"""Make drillgen/data/pdf_widths.tsv and pdf_kerning.tsv: how wide the typesetter sets letters.

    python tools/make_widths.py

Asks the typesetter itself, so the font's stylistic set is in the figures: the width of each
common character, and what a pair of them is wider or narrower than the two (kerning, ligatures).
"""

from __future__ import annotations

import json
import tempfile
from collections import defaultdict
from pathlib import Path

import typst

from drillgen.write.fonts import FALLBACK, FRAME, PLAIN, copy_fonts

DATA = Path(__file__).parent.parent / "drillgen" / "data"
SOURCE = """\
#let d = json(bytes(sys.inputs.d))
#set text(font: ("Source Sans Pro", "DejaVu Sans Mono"), fallback: false, features: ("ss04",))
#set text(number-type: "lining", size: 100pt)
#let width(it) = measure(it).width / 0.1pt
#context [#metadata(d.map(c => (width(text(c)), width(text(weight: 700, c)))))<widths>]
"""


def measure_texts(texts: list[str]) -> dict[str, list[int]]:
    """Each text with its width in thousandths of the size: regular, bold."""
    with tempfile.TemporaryDirectory() as folder:
        copy_fonts(Path(folder))
        source = Path(folder, "widths.typ")
        source.write_text(SOURCE, encoding="utf-8")
        answer = typst.query(
            str(source),
            "<widths>",
            field="value",
            one=True,
            font_paths=[folder],
            ignore_system_fonts=True,
            sys_inputs={"d": json.dumps(texts)},
        )
    widths = json.loads(answer)
    return {text: list(map(round, both)) for text, both in zip(texts, widths, strict=True)}


def main() -> None:
    """Write the tables."""
    single = measure_texts(sorted({*PLAIN, *FALLBACK, FRAME}))
    lines = [f"{ord(c):04X}\t{regular}\t{bold}" for c, (regular, bold) in single.items()]
    head = "# Made by tools/make_widths.py: code point, widths in thousandths (regular, bold)\n"
    (DATA / "pdf_widths.tsv").write_text(head + "\n".join(lines) + "\n", encoding="utf-8")

    # A space is not kerned, and at the end of a line it has no width.
    solid = [c for c in single if not c.isspace()]
    kerned: defaultdict[tuple[int, str, int], str] = defaultdict(str)
    for pair, widths in measure_texts([a + b for a in solid for b in solid]).items():
        for face, width in enumerate(widths):
            if moved := width - single[pair[0]][face] - single[pair[1]][face]:
                kerned[face, pair[0], moved] += pair[1]
    lines = [f"{face}\t{c}\t{moved}\t{rights}" for (face, c, moved), rights in kerned.items()]
    head = (
        "# Made by tools/make_widths.py: 1 for bold, left character, thousandths between it and\n"
        "# each of these on its right\n"
    )
    (DATA / "pdf_kerning.tsv").write_text(head + "\n".join(sorted(lines)) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
