"""Phrase ends, stress and parts of speech against readers and a treebank.

    python bench/prosody.py [DATA]

DATA is a folder with prosody/dev.txt.gz and pos/en_ewt-ud-dev.conllu (default
../shared/data). The readers of the development part are not those that trained the network.

Sources: Talman et al. (2019), Predicting prosodic prominence from text with pre-trained
contextualized word representations, NoDaLiDa; Silveira et al. (2014), A gold standard
dependency corpus for English, LREC.
"""

from __future__ import annotations

import gzip
import sys
import time
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from drillgen.core.values import Grade, Phrase  # noqa: E402
from drillgen.speech.prosody.reader import Prosody  # noqa: E402
from drillgen.speech.prosody.row import Sizes, make_row  # noqa: E402
from drillgen.speech.prosody.tagger import Tagger  # noqa: E402
from drillgen.speech.prosody.words import PARTICLES  # noqa: E402
from drillgen.speech.text.clauses import split_clauses  # noqa: E402
from drillgen.speech.text.tokens import Tokenizer  # noqa: E402


class Heard(NamedTuple):
    """A sentence as somebody read it."""

    text: str
    words: list[str]
    beats: list[int]
    pauses: list[int]
    marked: list[bool]


def read_heard(path: Path) -> Iterator[Heard]:
    for block in gzip.decompress(path.read_bytes()).decode().split("<file>\t")[1:]:
        text = ""
        found = Heard("", [], [], [], [])
        for line in block.rstrip("\n").split("\n")[1:]:
            word, beat, pause = line.split("\t")
            if beat == "NA" and not word[0].isalnum():
                if word != "'" and found.marked:
                    text += word
                    found.marked[-1] = True
                continue
            text += (" " if text else "") + word
            found.words.append(word)
            found.beats.append(-1 if beat == "NA" else int(beat))
            found.pauses.append(-1 if beat == "NA" else int(pause))
            found.marked.append(False)
        if found.words:
            yield found._replace(text=text)


def show_f1(name: str, hits: int, made: int, wanted: int) -> None:
    precision, recall = hits / max(made, 1), hits / max(wanted, 1)
    f1 = 2 * hits / max(made + wanted, 1)
    print(f"{name:28} F1 {f1:.3f}  precision {precision:.3f}  recall {recall:.3f}")


def word_ends(phrases: tuple[Phrase, ...]) -> tuple[list[bool], list[Grade]]:
    """Per white-space word of a text: whether a phrase ends after it, and its grade."""
    ends: list[bool] = []
    grades: list[Grade] = []
    for phrase in phrases:
        fresh = True
        for token, row in zip(phrase.tokens, phrase.grades, strict=True):
            if token.text.isspace():
                fresh = True
                continue
            if not row:
                continue
            if fresh:
                ends.append(False)
                grades.append(Grade.NONE)
                fresh = False
            grades[-1] = max((grades[-1], *row), key=list(Grade).index)
        ends[-1] = True
    return ends, grades


def measure_readers(path: Path) -> None:
    heard = list(read_heard(path))
    tokenizer, prosody = Tokenizer(), Prosody.load()
    made = hits = wanted = mark_made = mark_hits = 0
    right = words = nuclei = loud = skipped = 0
    for sentence in heard:
        tokens = tokenizer.tokenize(sentence.text)
        phrases = prosody.read(tokens, split_clauses(tokens)).phrases
        ends, grades = word_ends(phrases)
        if len(ends) != len(sentence.words):
            skipped += 1
            continue
        for i in range(len(ends)):
            if sentence.pauses[i] < 0:
                continue
            words += 1
            right += (grades[i] is not Grade.NONE) == (sentence.beats[i] > 0)
            if grades[i] is Grade.NUCLEUS:
                nuclei += 1
                loud += sentence.beats[i] > 0
            if i + 1 < len(ends):
                strong = sentence.pauses[i] == 2
                wanted += strong
                made += ends[i]
                hits += ends[i] and strong
                mark_made += sentence.marked[i]
                mark_hits += sentence.marked[i] and strong
    print(f"{len(heard)} sentences, {words} words; {skipped} sentences with other words left out")
    show_f1("punctuation alone", mark_hits, mark_made, wanted)
    show_f1("phrases", hits, made, wanted)
    print(f"stressed or not              {right / words:.4f} of words")
    print(f"nucleus is prominent         {loud / nuclei:.4f} of {nuclei} phrases")


class Tagged(NamedTuple):
    """A sentence of the treebank, its words joined as drillgen has them ("don't")."""

    tokens: list[str]
    tags: list[str]
    heads: list[int]
    """The token that each word begins with."""

    text: str


APPENDED = frozenset(
    ["'s", "n't", "'m", "'ll", "'ve", "'re", "'d", "’s", "n’t", "’m", "’ll", "’ve", "’re", "’d"]
)


def read_treebank(path: Path) -> Iterator[Tagged]:
    found = Tagged([], [], [], "")
    for line in path.read_text(encoding="utf-8").split("\n"):
        cells = line.split("\t")
        if line.startswith("# text = "):
            found = Tagged([], [], [], line[9:])
        elif len(cells) > 4 and cells[0].isdigit():
            if not (cells[1].lower() in APPENDED and found.heads):
                found.heads.append(len(found.tokens))
            found.tokens.append(cells[1])
            found.tags.append(cells[4])
        elif not line and found.tokens:
            yield found
            found = Tagged([], [], [], "")


FOCUS = {
    "that": {"that"},
    "particle or preposition": {"RP", "IN"},
    "modal or noun": {"can", "will", "might", "may", "must"},
}


def measure_tags(path: Path) -> None:
    """The network on the words of drillgen, nltk's perceptron on the treebank's own tokens."""
    tokenizer, prosody, perceptron = Tokenizer(), Prosody.load(), Tagger.load()
    sizes = Sizes()
    counts: dict[str, list[int]] = {}
    seconds = [0.0, 0.0]
    for sentence in read_treebank(path):
        tokens = tokenizer.tokenize(sentence.text)
        start = time.process_time()
        row = make_row(tokens, split_clauses(tokens), prosody.network, sizes)
        seconds[0] += time.process_time() - start
        start = time.process_time()
        theirs = perceptron.tag(sentence.tokens)
        seconds[1] += time.process_time() - start
        at = 0
        for word, tag in zip(row.words, row.tags, strict=True):
            # Words that are written alike line up; numbers and signs are passed over.
            place = next(
                (
                    h
                    for h in sentence.heads[at:]
                    if word.startswith(sentence.tokens[h].lower().replace("’", "'"))
                ),
                -1,
            )
            if place < 0:
                continue
            at = sentence.heads.index(place) + 1
            gold = sentence.tags[place]
            names = ["all words"]
            if word == "that":
                names.append("that")
            if gold == "RP" or (gold == "IN" and word in PARTICLES):
                names.append("particle or preposition")
            if word in FOCUS["modal or noun"]:
                names.append("modal or noun")
            for name in names:
                tally = counts.setdefault(name, [0, 0, 0])
                tally[0] += 1
                tally[1] += tag == gold
                tally[2] += theirs[place] == gold
    print(f"{'tags':24} {'words':>7} {'network':>8} {'nltk':>8}")
    for name, (words, ours, nltk) in counts.items():
        print(f"{name:24} {words:7} {ours / words:8.4f} {nltk / words:8.4f}")
    words = counts["all words"][0]
    ours_, theirs_ = (part / words * 1e6 for part in seconds)
    print(f"microseconds a word      {'':7} {ours_:8.1f} {theirs_:8.1f}")


BONDS = frozenset(
    [
        "det",
        "case",
        "aux",
        "aux:pass",
        "compound:prt",
        "flat",
        "fixed",
        "nummod",
        "cop",
        "compound",
    ]
)
"""Relations of Universal Dependencies whose words, side by side, are one group."""


def measure_bonds(path: Path) -> None:
    """Breaks between neighbours that the treebank binds together, where no mark stands."""
    tokenizer, prosody = Tokenizer(), Prosody.load()
    words = 0
    parted: Counter[str] = Counter()
    for block in path.read_text(encoding="utf-8").split("\n\n"):
        lines = [line for line in block.split("\n") if line]
        text = next((line[9:] for line in lines if line.startswith("# text = ")), "")
        rows = [row for row in (line.split("\t") for line in lines) if row[0].isdigit()]
        starts = []
        at = 0
        for row in rows:
            at = text.index(row[1], at)
            starts.append(at)
            at += len(row[1])
        tokens = tokenizer.tokenize(text)
        phrases = prosody.read(tokens, split_clauses(tokens)).phrases
        breaks = {phrase.tokens[-1].end for phrase in phrases[:-1]}
        words += len(text.split())
        for i, (left, right) in enumerate(pairwise(rows)):
            bound = {left[7]} if left[6] == right[0] else set[str]()
            bound |= {right[7]} if right[6] == left[0] else set()
            if starts[i + 1] in breaks:
                parted.update(bound & BONDS)
    total = sum(parted.values())
    print(
        f"breaks inside a group        {total / words * 1000:.2f} in 1,000 words: {dict(parted)}"
    )


def measure_speed(path: Path) -> None:
    """One text of the whole treebank part, on one core, in processor time."""
    texts = [sentence.text for sentence in read_treebank(path)]
    text = "\n\n".join(" ".join(texts[i : i + 5]) for i in range(0, len(texts), 5))
    tokens = Tokenizer().tokenize(text)
    clauses = split_clauses(tokens)
    start = time.process_time()
    prosody = Prosody.load()
    loaded = time.process_time() - start
    times = []
    for _ in range(3):
        start = time.process_time()
        prosody.read(tokens, clauses)
        times.append(time.process_time() - start)
    words = len(text.split())
    print(
        f"loaded in {loaded * 1000:.0f} ms; {words} words, first time {times[0] / words * 1e6:.1f}"
    )
    print(f"and then {min(times) / words * 1e6:.1f} microseconds a word")


def main() -> None:
    data = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT.parent / "shared" / "data"
    measure_readers(data / "prosody" / "dev.txt.gz")
    measure_tags(data / "pos" / "en_ewt-ud-dev.conllu")
    measure_bonds(data / "pos" / "en_ewt-ud-dev.conllu")
    measure_speed(data / "pos" / "en_ewt-ud-dev.conllu")


if __name__ == "__main__":
    main()
