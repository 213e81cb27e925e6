"""Speed and memory on one core, as ratios against peers in the same run.

Run: taskset -c 0 python bench/speed.py [--words 1000000] [--skip-long]

Prints: the cold start of `drillgen sheet` (time and peak memory), words per
second of text to phonemes and text to Drill beside g2p_en's whole pipeline
and phonemizer with espeak-ng, and time and memory of a long text in a stream.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from drillgen.corpus.reader import load_default_passage, load_passages
from drillgen.speech.pipeline import Engine, iter_drills, make_drill

HERE = Path(__file__).parent


def ordinary_text(words: int) -> str:
    """Running text of about that many words, from our corpora, in varied order."""
    sentences = [
        sentence.strip() + "."
        for passage in load_passages()
        for sentence in passage.text.replace("\n", " ").split(".")
        if sentence.strip()
    ]
    parts: list[str] = []
    count = 0
    step = 0
    while count < words:
        # A stride that shares no factor with the number of sentences visits all of them.
        sentence = sentences[(step * 7919) % len(sentences)]
        parts.append(sentence)
        parts.append("\n\n" if step % 6 == 5 else " ")
        count += len(sentence.split())
        step += 1
    return "".join(parts)


def rate(function: Callable[[str], object], text: str, repeat: int = 3) -> float:
    """Words per second, best of a few runs."""
    words = len(text.split())
    best = float("inf")
    for _ in range(repeat):
        start = time.perf_counter()
        function(text)
        best = min(best, time.perf_counter() - start)
    return words / best


def measure_cold(repeat: int = 5) -> None:
    """Time and peak memory of the command in a process of its own."""
    passage = load_default_passage().text
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "passage.txt"
        source.write_text(passage, encoding="utf-8")
        times = []
        for number in range(repeat):
            start = time.perf_counter()
            subprocess.run(
                [sys.executable, "-m", "drillgen", "sheet", str(source), "-o", f"{number}.pdf"],
                cwd=folder,
                check=True,
                capture_output=True,
            )
            times.append(time.perf_counter() - start)
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"cold `drillgen sheet`, {len(passage.split())} words to PDF:")
    print(f"  best {min(times):.2f} s, worst {max(times):.2f} s, peak memory {peak:.0f} MB")


def measure_rates() -> None:
    """Words per second beside the peers."""
    text = ordinary_text(20_000)
    engine = Engine.load()
    engine.pronounce(text)
    make_drill(text, engine=engine)
    rows = [
        ("drillgen, text to phonemes", rate(engine.pronounce, text)),
        ("drillgen, text to Drill", rate(lambda t: make_drill(t, engine=engine), text)),
    ]
    sys.path.insert(0, str(HERE))
    from peers import espeak_phonemes, g2p_en_phonemes

    peer = rate(g2p_en_phonemes(), text[: len(text) // 8], repeat=2)
    rows += [
        ("g2p_en, whole pipeline", peer),
        ("phonemizer with espeak-ng", rate(espeak_phonemes(), text, repeat=2)),
    ]
    print("\nordinary text, warm, words per second:")
    for name, speed in rows:
        print(f"  {name:<30} {speed:>10,.0f}   {speed / peer:6.1f} x g2p_en")


def measure_long(words: int) -> None:
    """Time and memory of streams of growing length, each in a process of its own."""
    print("\nlong texts, streamed to Drills, each in a process of its own:")
    for count in (words // 4, words // 2, words):
        result = subprocess.run(
            [sys.executable, __file__, "--stream", str(count)],
            check=True,
            capture_output=True,
            text=True,
        )
        print("  " + result.stdout.strip())


def stream(count: int) -> None:
    """One long text through the pipeline, line by line."""
    block = ordinary_text(10_000)

    def lines() -> Iterator[str]:
        for _ in range(count // 10_000):
            yield from block.splitlines(keepends=True)
            yield "\n\n"

    start = time.perf_counter()
    versions = 0
    for drill in iter_drills(lines()):
        versions += len(drill.versions)
    seconds = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{count:>9,} words: {seconds:6.1f} s, {count / seconds:>9,.0f} words/s, "
        f"peak memory {peak:.0f} MB, {versions} versions"
    )


def main() -> None:
    """Measure what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--words", type=int, default=1_000_000)
    parser.add_argument("--skip-long", action="store_true")
    parser.add_argument("--stream", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.stream:
        stream(options.stream)
        return
    measure_cold()
    measure_rates()
    if not options.skip_long:
        measure_long(options.words)


if __name__ == "__main__":
    main()
