"""Make the sheets of the reading test: two forms to read from, and a score form for each.

    python tools/make_reading_test.py [FOLDER] [--letter]

Writes form-a.pdf, form-b.pdf, score-a.pdf and score-b.pdf. Each way of printing a word stands
in one form: a reader sees every word once, and half of the readers see each way. The order is
shuffled the same way every time. docs/reading-test.md says how to run the test.
"""

from __future__ import annotations

import argparse
import random
from pathlib import Path
from typing import Final, NamedTuple

from drillgen.core.document import (
    Answer,
    AnswerKind,
    Column,
    Document,
    Paragraph,
    Reading,
    Sentence,
    Span,
    Table,
    Word,
)
from drillgen.core.options import Format, PageOptions, PageSize
from drillgen.write import render

TABLE: Final = Path(__file__).resolve().parent / "reading_test.tsv"
READ: Final = (
    "Read each word aloud as it is printed, once, without practising. The small word above says "
    "which word it was. Don't stop to think; go on if you stumble."
)
SCORE: Final = (
    "Tick one box a word: right at once; right but slowly or at the second try; otherwise. "
    "Write what was said where it was otherwise. Only consonants and the number of syllables "
    "count, and that each vowel was ee."
)


class Item(NamedTuple):
    """A word that can be printed in two ways."""

    question: str
    word: str
    first: str
    second: str


def read_items(path: Path = TABLE) -> tuple[Item, ...]:
    """The rows of the table, in its order."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return tuple(Item(*line.split("\t")) for line in lines if line and line[0] != "#")


def choose_prints(items: tuple[Item, ...], form: int) -> list[tuple[Item, str]]:
    """What stands in form 0 or 1, in the order of the page."""
    prints = [(item, item[2 + (n + form) % 2]) for n, item in enumerate(items)]
    random.Random(11).shuffle(prints)
    return prints


def make_form(items: tuple[Item, ...], form: int) -> Document:
    """The page to read from."""
    rows = choose_prints(items, form)
    words = [Word((Span(text),), item.word if text != item.word else "") for item, text in rows]
    lines = tuple(tuple(words[i : i + 4]) for i in range(0, len(words), 4))
    sentences = tuple(Sentence(n, (line,)) for n, line in enumerate(lines, 1))
    title = f"Reading test, form {'AB'[form]}"
    return Document(title, (Paragraph((Span(READ),)), Reading(sentences)), foot=title)


def make_score(items: tuple[Item, ...], form: int) -> Document:
    """The page for the one who listens."""
    rows = tuple(
        ((Span(str(n // 4 + 1)),), (Span(item.word),), (Span(text),), (Span(item.question),))
        for n, (item, text) in enumerate(choose_prints(items, form))
    )
    titles = {"Line": 0.5, "Word": 1.1, "Printed": 1.4, "Question": 1.9}
    answers = (
        *(Answer(title, AnswerKind.TICK, share=0.8) for title in ("Right", "Slow", "Otherwise")),
        Answer("Said", AnswerKind.NOTE, share=2),
    )
    columns = tuple(Column(title, share) for title, share in titles.items())
    table = Table(columns, rows, answers)
    title = f"Reading test, score form {'AB'[form]}"
    who = "Reader number ______   first language English: yes / no   form read: " + "AB"[form]
    return Document(title, (Paragraph((Span(SCORE),)), Paragraph((Span(who),)), table), foot=title)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("folder", type=Path, nargs="?", default=Path())
    parser.add_argument("--letter", action="store_true", help="paper of US Letter size")
    options = parser.parse_args()
    options.folder.mkdir(parents=True, exist_ok=True)
    page = PageOptions(PageSize.LETTER if options.letter else PageSize.A4)
    items = read_items()
    for form in (0, 1):
        for name, document in (
            ("form", make_form(items, form)),
            ("score", make_score(items, form)),
        ):
            target = options.folder / f"{name}-{'ab'[form]}.pdf"
            target.write_bytes(render(document, Format.PDF, page))
            print(target)


if __name__ == "__main__":
    main()
