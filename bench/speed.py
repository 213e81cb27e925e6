"""Speed and memory on one core, as ratios against peers in the same run.

Run: OMP_NUM_THREADS=1 python bench/speed.py TEXT [--words 1000000] [--skip-long]

TEXT is running text that was never seen: a plain file, or CoNLL-U, of which the lines
`# text = …` are taken. Prints: the cold start of `drillgen sheet`, without and with names that
no dictionary has, and of `drillgen --help`; words per second of text to phonemes and text to
Drill, beside g2p_en's whole pipeline and phonemizer with espeak-ng: fresh (in a process of its
own; the models are loaded, as those of the peers are, by OTHER, and nothing of the text is
cached), the same with the loading, and warm; time and memory of a long text in a stream. Times
are processor time, so that a shared machine disturbs them less.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Final

from processes import run_command

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


def read_text(path: Path) -> str:
    """A plain text, or the sentences of a CoNLL-U file."""
    text = path.read_text(encoding="utf-8")
    if path.suffix != ".conllu":
        return text
    mark = "# text = "
    return " ".join(line.removeprefix(mark) for line in text.splitlines() if line.startswith(mark))


def rate(function: Callable[[str], object], text: str, repeat: int = 3) -> float:
    """Words per second of processor time, best of a few runs."""
    best = float("inf")
    for _ in range(repeat):
        start = time.process_time()
        function(text)
        best = min(best, time.process_time() - start)
    return len(text.split()) / best


def measure_cold(repeat: int = 8) -> None:
    """Time and peak memory of the command in a process of its own."""
    known = load_default_passage().text
    named = f"{known} Zrovnik met Trelassick and Quembley."
    print(f"cold `drillgen sheet`, {len(known.split())} words to PDF, processor time:")
    with tempfile.TemporaryDirectory() as folder:
        cases = {"every word known": known, "three unknown names": named, "only --help": ""}
        for name, passage in cases.items():
            source = Path(folder) / "passage.txt"
            source.write_text(passage, encoding="utf-8")
            times = []
            for i in range(repeat + 1):
                asked = ("sheet", str(source), "-o", f"{folder}/{name}{i}.pdf")
                command = "-m", "drillgen", *(asked if passage else ("--help",))
                times.append(run_command(*command, compiled=Path(folder, "compiled"))[1])
            # Only the first run compiles.
            times = times[1:]
            print(f"  {name:<22} best {min(times):.2f} s, worst {max(times):.2f} s")
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"  peak memory {peak:.0f} MB")


MAKERS: Final = ("text to phonemes", "text to Drill")
OTHER: Final = "Zrovnik read 3 unreleasable close-ups, Trelassick said: was it $4 by 1992?"
STATES: Final = ("fresh", "with loading", "warm")


def measure_once(path: Path, name: str) -> None:
    """In a process that has read nothing: the rates of a maker in STATES."""
    text = read_text(path)
    start = time.process_time()
    engine = Engine.load()
    make = engine.pronounce if name == MAKERS[0] else partial(make_drill, engine=engine)
    make(OTHER)
    loaded = time.process_time() - start
    fresh, warm = rate(make, text, 1), rate(make, text)
    words = len(text.split())
    print(json.dumps((fresh, words / (words / fresh + loaded), warm)))


def measure_rates(path: Path, repeat: int = 3) -> None:
    """Words per second beside the peers."""
    text = read_text(path)
    runs: dict[str, list[list[float]]] = {name: [] for name in MAKERS}
    for name in MAKERS * repeat:
        command = [sys.executable, __file__, str(path), "--once", name]
        done = subprocess.run(command, check=True, capture_output=True, text=True)
        runs[name].append(json.loads(done.stdout))
    sys.path.insert(0, str(HERE))
    from peers import espeak_phonemes, g2p_en_phonemes

    espeak, g2p_en = rate(espeak_phonemes(), text), rate(g2p_en_phonemes(), text)
    rows = [
        *(
            (f"drillgen, {name}, {state}", max(run[i] for run in runs[name]))
            for i, state in enumerate(STATES)
            for name in MAKERS
        ),
        ("g2p_en, whole pipeline", g2p_en),
        ("phonemizer with espeak-ng", espeak),
    ]
    print(f"\n{len(text.split()):,} words of {path.name}, words per second of processor time:")
    for name, speed in rows:
        ratios = f"{speed / g2p_en:6.2f} x g2p_en {speed / espeak:6.2f} x phonemizer"
        print(f"  {name:<40} {speed:>9,.0f}   {ratios}")


def measure_long(words: int) -> None:
    """Time and memory of streams of growing length, each in a process of its own."""
    print("\nlong texts, streamed to Drills, each in a process of its own:")
    for count in (words // 4, words // 2, words):
        result = subprocess.run(
            [sys.executable, __file__, "-", "--stream", str(count)],
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

    start = time.process_time()
    versions = 0
    for drill in iter_drills(lines()):
        versions += len(drill.versions)
    seconds = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{count:>9,} words: {seconds:6.1f} s, {count / seconds:>9,.0f} words/s, "
        f"peak memory {peak:.0f} MB, {versions} versions"
    )


def main() -> None:
    """Measure what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("text", type=Path, help="a text that was never seen")
    parser.add_argument("--words", type=int, default=1_000_000)
    parser.add_argument("--skip-long", action="store_true")
    parser.add_argument("--stream", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--once", choices=MAKERS, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.stream:
        stream(options.stream)
        return
    if options.once:
        measure_once(options.text, options.once)
        return
    measure_cold()
    if not options.skip_long:
        # Before the peers: a process that is started inherits the peak of the one that starts it.
        measure_long(options.words)
    measure_rates(options.text)


if __name__ == "__main__":
    main()
