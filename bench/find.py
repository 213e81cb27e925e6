"""Mining a large text: time must be linear, memory flat, and cores must pay.

    python bench/find.py [--megabytes 8 32]

The text is made from our own passages and prompts in random order (fixed
seed). One table: size, processes, seconds on the clock, seconds of processor
time in all processes (which other work on the machine doesn't disturb), MB/s
on the clock, and the peak memory of this process and of its largest worker.
The engine's loading in each process is part of it. The ratios at the end
compare runs of this one call; the peer is g2p_en's whole pipeline, which only
finds the phonemes, over the first kilobytes of the same text (loading not
counted).
"""

from __future__ import annotations

import argparse
import random
import resource
import tempfile
import time
from pathlib import Path

from drillgen.corpus.find import find_sentences, iter_sentences
from drillgen.corpus.mining import load_tools
from drillgen.corpus.reader import load_passages, load_prompts


def write_text(path: Path, megabytes: int) -> None:
    """A text of that size, in paragraphs of five sentences."""
    texts = [p.text for p in load_passages()] + [p.answer for p in load_prompts()]
    sentences = [sentence for text in texts for sentence in iter_sentences([text.encode()])]
    chance = random.Random(1)
    with path.open("w", encoding="utf-8") as file:
        while file.tell() < megabytes << 20:
            file.write(" ".join(chance.choices(sentences, k=5)) + "\n\n")


def spent() -> float:
    """Processor seconds of this process and of the workers that have ended."""
    own = resource.getrusage(resource.RUSAGE_SELF)
    child = resource.getrusage(resource.RUSAGE_CHILDREN)
    return own.ru_utime + own.ru_stime + child.ru_utime + child.ru_stime


def time_peer(path: Path, kilobytes: int) -> float:
    """Seconds of processor time that g2p_en takes for a megabyte, from a part of it."""
    from peers import g2p_en_phonemes

    read = g2p_en_phonemes()
    with path.open(encoding="utf-8") as file:
        text = file.read(kilobytes << 10)
    sentences = list(iter_sentences([text.encode()]))
    start = spent()
    for sentence in sentences:
        read(sentence)
    return (spent() - start) * 1024 / kilobytes


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description="Measure the mining of a large text.")
    parser.add_argument("--megabytes", nargs="+", type=int, default=[8, 32])
    parser.add_argument("--workers", nargs="+", type=int, default=[1, 2])
    parser.add_argument("--peer", type=int, default=256, help="kilobytes for the peer; 0: none")
    options = parser.parse_args()
    times: dict[tuple[int, int], float] = {}
    work: dict[tuple[int, int], float] = {}
    print(
        f"{'MB':>5}{'processes':>11}{'seconds':>9}{'processor':>11}{'MB/s':>7}{'own MB':>8}"
        f"{'worker MB':>11}"
    )
    with tempfile.TemporaryDirectory() as folder:
        for size in options.megabytes:
            path = Path(folder) / f"{size}.txt"
            write_text(path, size)
            for workers in options.workers:
                start, before = time.perf_counter(), spent()
                find_sentences([path], load_tools, step=1, rich_in=["FLEECE"], workers=workers)
                seconds = times[size, workers] = time.perf_counter() - start
                busy = work[size, workers] = spent() - before
                own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss >> 10
                child = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss >> 10
                print(
                    f"{size:5}{workers:11}{seconds:9.1f}{busy:11.1f}{size / seconds:7.2f}{own:8}"
                    f"{child:11}",
                    flush=True,
                )
        peer = time_peer(path, options.peer) if options.peer else 0.0
    small, large = min(options.megabytes), max(options.megabytes)
    for workers in options.workers:
        ratio = work[large, workers] / work[small, workers]
        print(f"{workers} processes: {large / small:g} times the text, {ratio:.2f} times the work")
    few, many = min(options.workers), max(options.workers)
    gain = times[large, few] / times[large, many]
    if peer:
        ratio = peer * large / work[large, few]
        print(f"one process: {ratio:.1f} times as fast as g2p_en over the same text")
    print(f"{large} MB: {many} processes are {gain:.2f} times as fast as {few}")


if __name__ == "__main__":
    main()
