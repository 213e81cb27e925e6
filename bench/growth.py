"""How work grows with the length of a text, over shapes that invite more than linear work.

Usage: python bench/growth.py [--to 1000000] [--limit 20] [SHAPE …]

Each shape is made at 4,000 characters and at four times as many each step, up to --to, or until
a step takes longer than --limit seconds of the processor. A shape's exponent is the slope of log
time over log length between its last two steps of at least 50 ms: 1 is linear, 2 is quadratic.
Prints seconds at each length, the exponent, and at the end the shapes above 1.3; exit code 1 if
there are any.
A text too long for a face is refused in one line, which counts as an answer ("refused").
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Callable
from typing import Final, NamedTuple

from drillgen.core.errors import DrillgenError
from drillgen.core.options import Format, PageOptions
from drillgen.core.values import Worksheet
from drillgen.sheets.drill import lay_out_drills
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import add_overrides, parse_overrides
from drillgen.write import render

SIZES: Final = tuple(4000 * 4**step for step in range(5))
STEEP: Final = 1.3
ENOUGH: Final = 0.05
"""Seconds; shorter times say nothing of growth."""

TEXTS: Final[dict[str, str]] = {
    "one word": "b",
    "one word, alternating": "ba",
    "M": "M",
    "capital word": "BOAT",
    "a'a'": "a'",
    "a’a’": "a’",
    "a-a-": "a-",
    "a.a.": "a.",
    "a/a/": "a/",
    "a_a_": "a_",
    "soft hyphens": "\u00ad",
    "b and soft hyphens": "b\u00ad",
    "joiners": "\u200d",
    "flags": "\U0001f1e9\U0001f1ea",
    "families": "\U0001f469\u200d\U0001f469\u200d\U0001f467 ",
    "one line": "boat on the quay and ",
    "short lines": "A boat.\n",
    "paragraphs": "The boat leaves.\n\n",
    "empty lines": "\n",
    "spaces": " ",
    "tabs": "\t",
    "digits": "7",
    "numbers": "1984 ",
    "thousands": "1,000,",
    "decimals": "3.14",
    "amounts": "$5.20 ",
    "times": "10:30 ",
    "dates": "2030-01-31 ",
    "ordinals": "21st ",
    "Roman": "XIV ",
    "brackets": "(",
    "pairs of brackets": "()",
    "quotation marks": "“",
    "apostrophes": "'",
    "hyphens": "-",
    "stops": ".",
    "dots between": ". ",
    "dashes": "—",
    "commas": "boat, ",
    "asterisks": "*a",
    "backquotes": "`",
    "pipes": "| a ",
    "hashes": "# a\n",
    "list": "- boat\n",
    "quotes": "> boat\n",
    "links": "[a](b) ",
    "addresses": "http://a.example/b ",
    "mail": "a@b.example ",
    "accents": "é",
    "combining": "e\u0301",
    "many marks": "\u0301",
    "Hebrew": "שלום boat ",
    "Chinese": "茶",
    "unknown words": "zrovnik vantrel ",
    "names": "Mr. Vrantzel ",
    "homographs": "I read it. ",
    "hyphenated": "well-known ",
    "contractions": "don't ",
    "units": "5 km ",
    "abbreviations": "e.g. ",
    "initials": "J. R. ",
}
"""Shape → what is repeated."""


class Step(NamedTuple):
    """One length."""

    length: int
    seconds: float


def repeat(piece: str, length: int) -> str:
    """So many characters of a shape."""
    return (piece * (length // len(piece) + 1))[:length]


def make_shapes(engine: Engine) -> dict[str, Callable[[int], None]]:
    """Every shape, as a work whose length can be chosen."""

    def through_sheet(piece: str, kind: Format) -> Callable[[int], None]:
        def work(length: int) -> None:
            # The engine of a fresh run: nothing is kept from the length before.
            drill = make_drill(repeat(piece, length), engine=engine.adapt())
            render(lay_out_drills(Worksheet((drill,), "", None)), kind, PageOptions())

        return work

    def import_words(length: int) -> None:
        lexicon = Lexicon.load()
        letters = str.maketrans("0123456789", "abcdefghij")
        words = (f"zro{n}x".translate(letters) for n in range(length // 16))
        lines = "".join(f"{word}  Z R OW1\n" for word in words)
        found = parse_overrides(lines, "words", lexicon.first)
        add_overrides("", {entry.word: entry.phones for entry in found})

    shapes = {name: through_sheet(piece, Format.MARKDOWN) for name, piece in TEXTS.items()}
    for name in ("flags", "one line", "short lines", "unknown words"):
        shapes[f"{name}, HTML"] = through_sheet(TEXTS[name], Format.HTML)
    return {**shapes, "words import": import_words}


def climb(work: Callable[[int], None], longest: int, limit: float) -> tuple[list[Step], bool]:
    """Times at each length, and whether the last one was refused."""
    steps: list[Step] = []
    for length in (size for size in SIZES if size <= longest * 1.03):
        start = time.process_time()
        try:
            work(length)
        except DrillgenError:
            steps.append(Step(length, time.process_time() - start))
            return steps, True
        steps.append(Step(length, time.process_time() - start))
        if steps[-1].seconds > limit:
            break
    return steps, False


def fit_exponent(steps: list[Step]) -> float:
    """Slope of log time over log length between the last two steps that count."""
    last = [step for step in steps if step.seconds >= ENOUGH][-2:]
    if len(last) < 2:
        return 0.0
    one, two = last
    return math.log(two.seconds / one.seconds) / math.log(two.length / one.length)


def main() -> int:
    """Climb every shape."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("shapes", nargs="*", metavar="SHAPE")
    parser.add_argument("--to", type=int, default=SIZES[-1])
    parser.add_argument("--limit", type=float, default=20.0)
    options = parser.parse_args()
    engine = Engine.load()
    shapes = make_shapes(engine)
    shapes["one line"](200)
    steep = []
    for name in options.shapes or shapes:
        steps, refused = climb(shapes[name], options.to, options.limit)
        exponent = fit_exponent(steps)
        times = " ".join(f"{step.seconds:8.2f}" for step in steps)
        print(f"{name:24} {exponent:5.2f}  {times}{'  refused' if refused else ''}", flush=True)
        if exponent > STEEP:
            steep.append(name)
    print(f"{len(options.shapes or shapes)} shapes; above {STEEP}: {', '.join(steep) or 'none'}")
    return bool(steep)


if __name__ == "__main__":
    sys.exit(main())
