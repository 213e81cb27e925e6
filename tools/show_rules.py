"""What the tables of the rules for text show (tests/text/data/rules_*.tsv), and what they should.

Usage: python tools/show_rules.py [--keep]

Prints each row that shows something else now. With --keep it is written: read the difference
before it is committed, for what is shown is what the tests will ask for.
"""

from __future__ import annotations

import argparse
import sys
from functools import cache
from pathlib import Path
from typing import Final

from drillgen.core.options import Locale
from drillgen.core.values import Token, TokenKind
from drillgen.speech.text.tokens import Tokenizer

FILES: Final = sorted((Path(__file__).parents[1] / "tests" / "text" / "data").glob("rules_*.tsv"))


def show_token(token: Token) -> str:
    """`5#five` a number, `km=kilometers` a word, `~` another reading, `{}` the note; nothing for
    letters that are said as a word, or a mark that isn't said."""
    mark = "#" if token.kind is TokenKind.NUMBER else "="
    plain = token.spoken == (token.text.lower(),) and mark == "=" and token.text.isalpha()
    silent = not token.spoken and not any(char.isalnum() for char in token.text)
    if (plain or silent) and not token.other and not token.note:
        return ""
    others = "".join("~" + "_".join(other) for other in token.other)
    note = f"{{{token.note}}}" if token.note else ""
    return f"{token.text}{mark}{'_'.join(token.spoken)}{others}{note}"


def show(locale: Locale, text: str) -> str:
    """What a table shows of a text; `\\n` stands for a line break."""
    tokens = _open(locale).tokenize(text)
    assert "".join(token.text for token in tokens) == text
    return " ".join(filter(None, map(show_token, tokens))).replace("\n", "\\n")


@cache
def _open(locale: Locale) -> Tokenizer:
    return Tokenizer(locale)


def read_rows(path: Path, locale: Locale) -> list[tuple[str, str, str]]:
    """Label, text and what is shown, of the rows of a locale or of both."""
    lines = path.read_text("utf-8").splitlines()
    rows = [line.split("\t") for line in lines if line and not line.startswith("#")]
    return [
        (label, text.replace("\\n", "\n"), shown)
        for label, wanted, text, shown in rows
        if wanted in ("both", locale)
    ]


def renew_row(row: str) -> list[str]:
    """A row with what is shown now: two, where the locales differ."""
    label, wanted, text, _ = row.split("\t")
    locales = [one for one in Locale if wanted in ("both", one)]
    shown = {one: show(one, text.replace("\\n", "\n")) for one in locales}
    if len(set(shown.values())) == 1:
        return [f"{label}\t{wanted}\t{text}\t{shown[locales[0]]}"]
    return [f"{label}\t{one}\t{text}\t{shown[one]}" for one in locales]


def main() -> int:
    """Look at every table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--keep", action="store_true", help="write the tables")
    options = parser.parse_args()
    for path in FILES:
        renewed: list[str] = []
        for row in path.read_text("utf-8").splitlines():
            now = renew_row(row) if row and not row.startswith("#") else [row]
            renewed += now
            if now != [row]:
                print("\n+ ".join([f"- {row}", *now]))
        if options.keep:
            path.write_text("\n".join(renewed) + "\n", "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
