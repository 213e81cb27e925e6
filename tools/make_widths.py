"""Make drillgen/data/pdf_widths.tsv: how wide the typesetter sets each common character.

    python tools/make_widths.py

Asks the typesetter itself, so the font's stylistic set is in the figures. Kerning is left out.
"""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import typst

from drillgen.write.fonts import FALLBACK, FRAME, PLAIN, copy_fonts

TARGET = Path(__file__).parent.parent / "drillgen" / "data" / "pdf_widths.tsv"
SOURCE = """\
#let d = json(bytes(sys.inputs.d))
#set text(font: ("Source Sans Pro", "DejaVu Sans Mono"), fallback: false, features: ("ss04",))
#set text(number-type: "lining", size: 100pt)
#let width(it) = measure(it).width / 0.1pt
#context [#metadata(d.map(c => (c, width(text(c)), width(text(weight: 700, c)))))<widths>]
"""


def measure_characters(characters: list[str]) -> list[tuple[str, float, float]]:
    """Each character with its width in thousandths of the size: regular, bold."""
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
            sys_inputs={"d": json.dumps(characters)},
        )
    return [(c, regular, bold) for c, regular, bold in json.loads(answer)]


def main() -> None:
    """Write the table."""
    rows = measure_characters(sorted({*PLAIN, *FALLBACK, FRAME}))
    lines = [f"{ord(c):04X}\t{regular:.0f}\t{bold:.0f}" for c, regular, bold in rows]
    head = "# Made by tools/make_widths.py: code point, widths in thousandths (regular, bold)\n"
    TARGET.write_text(head + "\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
