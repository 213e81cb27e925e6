"""Check the corpora, and print how they cover the sounds of English.

    python tools/check_corpora.py                 check, table and bar chart
    python tools/check_corpora.py --svg FILE      the bar chart as a picture too
    python tools/check_corpora.py --reference     count running English again
                                                  (needs the package wordfreq)

Exit code 1 if a file breaks a rule of docs/corpora.md.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product
from pathlib import Path
from typing import Final

from corpus_rules import (
    SHARES,
    Lexicon,
    Spread,
    answers_of,
    has_contraction,
    is_nautical,
    is_stiff,
    list_doubtful,
    measure_spread,
    read_cmudict,
    running_shares,
    split_sentences,
    split_words,
    total_variation,
    validate,
)

from drillgen.core.phones import CONSONANTS, VOWELS, vowel_indexes
from drillgen.corpus.difficulty import ScoredWord, Scorer, score_total
from drillgen.corpus.reader import (
    LEXICAL_SETS,
    LIST_UNITS,
    STEPS,
    CorpusPassage,
    load_passages,
    load_prompts,
    load_word_list,
)
from drillgen.speech.pipeline import Engine

BACK_ROUNDED: Final = frozenset({"UW", "UH", "OW", "AO", "OY", "AW"})


def count_running_english(lexicon: Lexicon) -> dict[str, float]:
    """Share of each phoneme in running English, 0 to 1.

    Every word of wordfreq's English list (Speer 2022, wordfreq 3) that is in
    the lexicon, weighted by its frequency and said as its first entry.
    """
    from wordfreq import get_frequency_dict

    counts: dict[str, float] = dict.fromkeys((*VOWELS, *CONSONANTS), 0.0)
    for word, frequency in get_frequency_dict("en", wordlist="best").items():
        for phone in lexicon.get(word, ((),))[0]:
            counts[phone.symbol] += frequency
    total = sum(counts.values())
    return {symbol: count / total for symbol, count in counts.items()}


def write_reference(lexicon: Lexicon) -> None:
    """Write the table that `running_shares` reads."""
    head = (
        "# Share of each phoneme in running English. Made by tools/check_corpora.py --reference\n"
        '# from wordfreq (list "en", best) and CMUdict (first entries).\n'
    )
    rows = (f"{symbol}\t{share:.6f}\n" for symbol, share in count_running_english(lexicon).items())
    SHARES.write_text(head + "".join(rows), encoding="utf-8")


def mean_difficulty(text: str, lexicon: Lexicon, scorer: Scorer) -> float:
    """Mean over the sentences of their difficulty under the full swap, 0 to 100.

    A comma, colon, semicolon or quotation mark parts two breath phrases.
    """
    totals = []
    for sentence in split_sentences(text):
        words = []
        for phrase in re.split(r"[,;:“”\"]", sentence):
            spoken = split_words(phrase)
            for i, word in enumerate(spoken):
                phones = lexicon[word][0]
                last = i == len(spoken) - 1
                words.append(ScoredWord(word, phones, vowel_indexes(phones), last))
        totals.append(score_total(words, scorer))
    return sum(totals) / len(totals)


def passage_table(
    passages: Sequence[CorpusPassage], lexicon: Lexicon, scorer: Scorer
) -> Iterator[str]:
    """One row per passage: size, sentence length, difficulty and distance."""
    yield (
        f"{'passage':24}{'step':>5}{'words':>7}{'w/sent':>8}{'phones':>8}{'difficulty':>12}"
        f"{'distance':>10}"
    )
    reference = running_shares()
    for passage in sorted(passages, key=lambda p: (p.step, p.key)):
        words = split_words(passage.text)
        spread = measure_spread(words, lexicon)
        mean = len(words) / len(split_sentences(passage.text))
        distance = total_variation(spread.shares, reference)
        mark = "  balanced" if passage.balanced else ""
        yield (
            f"{passage.key:24}{passage.step:5}{len(words):7}{mean:8.1f}"
            f"{spread.phones:8}{mean_difficulty(passage.text, lexicon, scorer):12.1f}"
            f"{distance:10.3f}{mark}"
        )


def vowel_table(spreads: Mapping[str, Spread]) -> Iterator[str]:
    """Stressed and unstressed vowels of each text."""
    yield f"{'vowel (stressed/unstressed)':30}" + "".join(f"{name:>20}" for name in spreads)
    for vowel in VOWELS.values():
        cells = (
            f"{s.stressed[vowel.symbol]}/{s.unstressed[vowel.symbol]}" for s in spreads.values()
        )
        label = f"{vowel.symbol:4}{vowel.lexical_set}"
        yield f"{label:30}" + "".join(f"{cell:>20}" for cell in cells)


def prompt_table(lexicon: Lexicon, scorer: Scorer) -> Iterator[str]:
    """The easier and the fuller answers by step: length, vowels, difficulty, contractions."""
    prompts = load_prompts()
    yield (
        f"{'step':6}{'answer':8}{'prompts':>9}{'words':>7}{'back rounded vowels':>21}"
        f"{'difficulty':>12}{'contracted':>12}"
    )
    for step, (place, kind) in product(STEPS, enumerate(("easier", "fuller"))):
        answers = [answers_of(p)[place] for p in prompts if p.step == step]
        words = split_words(" ".join(answers))
        vowels = Counter(
            phone.symbol for word in words for phone in lexicon[word][0] if phone.is_vowel
        )
        share = sum(vowels[v] for v in BACK_ROUNDED) / vowels.total()
        hard = mean_difficulty(" ".join(answers), lexicon, scorer)
        short = sum(map(has_contraction, answers)) / len(answers)
        yield (
            f"{step:<6}{kind:8}{len(answers):9}{len(words) / len(answers):7.1f}{share:21.3f}"
            f"{hard:12.1f}{short:12.0%}"
        )
    answers = [answer for p in prompts for answer in answers_of(p)]
    yield f"{sum(map(is_stiff, answers))} of {len(answers)} answers have a stiff full form"
    yield f"{sum(map(is_nautical, prompts))} of {len(prompts)} prompts are about the sea"
    engine = Engine.load()
    for accent in ("rhotic", "non-rhotic"):
        doubtful, count = list_doubtful(engine.adapt(accent=accent))
        names = f": {', '.join(doubtful)}" if doubtful else ""
        yield f"{len(doubtful)} of {count} words are doubtful, {accent}{names}"


def list_table() -> Iterator[str]:
    """How many items each lexical set has."""
    yield f"{'lexical set':14}" + "".join(f"{unit.value:>10}" for unit in LIST_UNITS)
    for name in LEXICAL_SETS:
        items = load_word_list(name).items
        yield f"{name:14}" + "".join(f"{len(items[unit]):10}" for unit in LIST_UNITS)


def bar_chart(shares: Mapping[str, float], reference: Mapping[str, float]) -> Iterator[str]:
    """Phonemes by their share in running English (o), and in the text (bar)."""
    scale = 400
    for symbol in sorted(reference, key=reference.__getitem__, reverse=True):
        length, mark = round(shares[symbol] * scale), round(reference[symbol] * scale)
        bar = list("█" * length + " " * max(0, mark + 1 - length))
        bar[mark] = "o"
        yield f"{symbol:3} {shares[symbol]:6.2%} {reference[symbol]:6.2%} {''.join(bar).rstrip()}"


def bar_chart_svg(shares: Mapping[str, float], reference: Mapping[str, float]) -> str:
    """The same chart as a picture: bar for the text, line for the reference."""
    order = sorted(reference, key=reference.__getitem__, reverse=True)
    step, left, scale = 16, 40, 5000
    rows = []
    for i, symbol in enumerate(order):
        y = 10 + i * step
        width, mark = shares[symbol] * scale, left + reference[symbol] * scale
        rows.append(
            f'<text x="{left - 6}" y="{y + 11}" text-anchor="end">{symbol}</text>'
            f'<rect x="{left}" y="{y + 2}" width="{width:.1f}" height="11" fill="#8a8a8a"/>'
            f'<path d="M{mark:.1f} {y}v15" stroke="#000" stroke-width="2"/>'
        )
    height = 20 + step * len(order)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 620 {height}" role="img" '
        'font-family="sans-serif" font-size="11"><title>Share of each phoneme: bars for the '
        "balanced passages, lines for running English</title>" + "".join(rows) + "</svg>\n"
    )


def _print(title: str, lines: Iterable[str]) -> None:
    print(f"\n{title}\n")
    for line in lines:
        print(line)


def main() -> int:
    """Run the checks and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--svg", type=Path, help="write the bar chart as SVG too")
    parser.add_argument("--reference", action="store_true", help="count running English again")
    options = parser.parse_args()
    lexicon = read_cmudict()
    if options.reference:
        write_reference(lexicon)
    problems = validate(lexicon=lexicon)
    if problems:
        for problem in problems:
            print(problem, file=sys.stderr)
        print(f"{len(problems)} problems", file=sys.stderr)
        return 1
    passages, scorer = load_passages(), Scorer.load()
    balanced = {
        p.key: measure_spread(split_words(p.text), lexicon) for p in passages if p.balanced
    }
    both = measure_spread(
        (word for p in passages if p.balanced for word in split_words(p.text)), lexicon
    )
    _print(
        "Passages (distance: total variation from running English)",
        passage_table(passages, lexicon, scorer),
    )
    _print("Vowels of the balanced passages", vowel_table(balanced))
    _print("Prompts", prompt_table(lexicon, scorer))
    _print("Lists", list_table())
    _print(
        "Phonemes: balanced passages, running English (o)",
        bar_chart(both.shares, running_shares()),
    )
    if options.svg:
        options.svg.write_text(bar_chart_svg(both.shares, running_shares()), encoding="utf-8")
    print("\nno problems")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
