"""The edges of each rule for words, numbers and signs: what it takes in and what it leaves.

Rows show all of a token that is not plain: its text, how it is said, what else it could be, and
what it was taken for.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.options import Locale
from drillgen.core.values import Token, TokenKind
from drillgen.speech.text.tokens import Tokenizer

FILES = sorted((Path(__file__).parent / "data").glob("rules_*.tsv"))
TOKENIZERS = {locale: Tokenizer(locale) for locale in Locale}


def show_token(token: Token) -> str:
    """`5#five` a number, `km=kilometers` a word, `~` another reading, `{}` the note; nothing for
    a word that is said as it is written, or a mark that isn't said."""
    mark = "#" if token.kind is TokenKind.NUMBER else "="
    plain = token.spoken == (token.text.lower(),) and mark == "=" and token.text.isalpha()
    silent = not token.spoken and not any(char.isalnum() for char in token.text)
    if (plain or silent) and not token.other and not token.note:
        return ""
    others = "".join("~" + "_".join(other) for other in token.other)
    note = f"{{{token.note}}}" if token.note else ""
    return f"{token.text}{mark}{'_'.join(token.spoken)}{others}{note}"


def show(locale: Locale, text: str) -> str:
    tokens = TOKENIZERS[locale].tokenize(text)
    assert "".join(token.text for token in tokens) == text
    return " ".join(filter(None, map(show_token, tokens)))


def read_rows(path: Path, locale: Locale) -> list[tuple[str, str, str]]:
    """Label, text and what is shown; `\\n` is a line break, "both" either locale."""
    lines = path.read_text("utf-8").splitlines()
    rows = [line.split("\t") for line in lines if line and not line.startswith("#")]
    return [
        (label, text.replace("\\n", "\n"), shown)
        for label, wanted, text, shown in rows
        if wanted in ("both", locale)
    ]


# Hundreds of rows in one test: as tests of their own they would take ten times as long.
@pytest.mark.parametrize("locale", Locale)
@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_rules(path: Path, locale: Locale) -> None:
    rows = read_rows(path, locale)
    assert len(rows) > 80
    said = [(label, text, show(locale, text).replace("\n", "\\n")) for label, text, _ in rows]
    wrong = [
        (*row, shown) for row, (_, _, shown) in zip(said, rows, strict=True) if row[2] != shown
    ]
    assert not wrong


@pytest.mark.parametrize("locale", Locale)
@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_other_paragraphs_change_nothing(path: Path, locale: Locale) -> None:
    """A text is read alike alone and in the middle of a longer one."""
    rows = read_rows(path, locale)
    texts = [f"Boats came.\n\n{text}\n\nBoats came." for _, text, _ in rows]
    said = [show(locale, text).replace("\n", "\\n") for text in texts]
    wrong = [(row[0], now) for row, now in zip(rows, said, strict=True) if row[2] != now]
    assert not wrong
