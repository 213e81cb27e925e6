"""Speed of tokens and phrases on one core, as ratios against peers in the same run.

    python bench/text.py [words]

Peers: a bare scan (one regular expression, one look-up and one Token per piece: the least
that any tokenizer with offsets must do) and nltk's TreebankWordTokenizer with spans. Times
are processor time of this process. The text is made of frequent words (wordfreq, Zipf's law)
with marks, numbers and capitals in everyday shares. Last, the time for hostile input is shown
at n and 2n characters: a ratio near 2 means linear.
"""

from __future__ import annotations

import random
import re
import sys
import time
from collections.abc import Callable, Iterable
from functools import partial

import wordfreq
from nltk.tokenize import TreebankWordTokenizer

from drillgen.core.values import Token, TokenKind
from drillgen.speech.text.clauses import split_clauses
from drillgen.speech.text.paragraphs import iter_paragraphs
from drillgen.speech.text.tokens import Tokenizer

HOSTILE = ("-", "a.", "1,", "'", "1-", "1/", "@a", "a@a.", "(", "www.", "½", "s' ", "Dr. ", "07 ")


def make_text(words: int, seed: int = 1) -> list[str]:
    """Paragraphs of about 100 words."""
    rng = random.Random(seed)
    forms = [form for form in wordfreq.top_n_list("en", 20_000) if form.isalpha()]
    weights = [1 / (rank + 2) for rank in range(len(forms))]
    paragraphs = []
    for _ in range(words // 100):
        line = []
        capital = True
        for form in rng.choices(forms, weights, k=100):
            share = rng.random()
            mark = "," if share < 0.06 else "." if share < 0.12 else "?" if share < 0.13 else ""
            form = str(rng.randrange(2100)) if 0.13 < share < 0.14 else form
            form = "I" if form == "i" else form
            line.append((form.capitalize() if capital else form) + mark)
            capital = mark in (".", "?")
        paragraphs.append(" ".join(line) + ".\n\n")
    return paragraphs


def time_call(call: Callable[[], object]) -> float:
    """Processor time in seconds."""
    start = time.process_time()
    call()
    return time.process_time() - start


def scan_bare(paragraphs: Iterable[str]) -> None:
    """The least work: pieces, a look-up each, tokens."""
    seen: dict[str, tuple[str, ...]] = {}
    find = re.compile(r"\w+|\s+|[^\w\s]").findall
    for text in paragraphs:
        position = 0
        tokens = []
        for piece in find(text):
            spoken = seen.get(piece)
            if spoken is None:
                spoken = seen[piece] = (piece.lower(),)
            end = position + len(piece)
            tokens.append(Token(piece, position, end, TokenKind.WORD, spoken))
            position = end


def main() -> None:
    words = int(sys.argv[1]) if len(sys.argv) > 1 else 300_000
    paragraphs = make_text(words)
    peer = TreebankWordTokenizer()
    bare = time_call(lambda: scan_bare(paragraphs))
    nltk = time_call(lambda: [list(peer.span_tokenize(text)) for text in paragraphs])
    tokenizer = Tokenizer()
    cold = time_call(lambda: [len(tokenizer.tokenize(text)) for text in paragraphs])
    warm = time_call(lambda: [len(tokenizer.tokenize(text)) for text in paragraphs])
    rows = [tokenizer.tokenize(text) for text in paragraphs]
    count = sum(map(len, rows))
    phrases = time_call(lambda: [len(split_clauses(row)) for row in rows])
    text = "".join(paragraphs)
    stream = time_call(lambda: sum(map(len, iter_paragraphs(text.splitlines(keepends=True)))))
    print(f"{words:,} words, {count:,} tokens")
    print(f"bare scan              {words / bare:12,.0f} words/s")
    print(f"nltk Treebank spans    {words / nltk:12,.0f} words/s")
    print(
        f"tokenize, empty cache  {words / cold:12,.0f} words/s, {bare / cold:.2f} x bare, "
        f"{nltk / cold:.1f} x nltk"
    )
    print(f"tokenize, warm         {words / warm:12,.0f} words/s, {bare / warm:.2f} x bare")
    print(f"split_clauses          {count / phrases:12,.0f} tokens/s")
    print(f"iter_paragraphs        {len(text) / stream:12,.0f} characters/s")

    def work(hostile: str) -> object:
        return split_clauses(tokenizer.tokenize(hostile))

    for unit in HOSTILE:
        times = []
        for size in (100_000, 200_000):
            hostile = (unit * size)[:size]
            times.append(time_call(partial(work, hostile)))
        ratio = times[1] / max(times[0], 1e-9)
        print(f"hostile {unit!r:8} {times[0]:.3f} s, {times[1]:.3f} s, ratio {ratio:.1f}")


if __name__ == "__main__":
    main()
