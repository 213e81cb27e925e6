"""How much faster a table of handouts is than a command for each, and how flat its memory.

    python bench/batch.py [HANDOUTS] [SINGLES] [--format pdf]

Both run on this machine, one after the other: SINGLES single commands in turn (a process
each, as a teacher would type them), then one `drillgen batch` over HANDOUTS rows of 150
words. The ratios compare the time of a handout; on a machine that others use that of
processor time says more. Start-up counts, so 500 handouts do better than 40. The modules are
compiled beforehand, as those of an installation are. Texts are our own passages, cut and joined;
time does not depend much on what they say.
"""

from __future__ import annotations

import argparse
import os
import resource
import tempfile
from functools import partial
from itertools import cycle, islice
from pathlib import Path

from processes import run_command

from drillgen.corpus.reader import load_passages

WORDS = 150


def write_texts(folder: Path, count: int) -> list[Path]:
    """Texts of `WORDS` words, each with a beginning of its own."""
    words = [word for passage in load_passages() for word in passage.text.split()]
    paths = []
    for number in range(count):
        start = number * 37 % len(words)
        text = " ".join(islice(cycle(words), start, start + WORDS))
        path = folder / f"text-{number:03}.txt"
        path.write_text(f"# Text {number}\n\n{text}\n", encoding="utf-8")
        paths.append(path)
    return paths


def main() -> None:
    """Print times, ratios, and the peak of the largest process."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("handouts", type=int, nargs="?", default=40)
    parser.add_argument("singles", type=int, nargs="?", default=5)
    parser.add_argument("--format", default="pdf")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = write_texts(folder, given.handouts)
        table = folder / "table.csv"
        rows = "".join(f"{path.name},{given.format}\n" for path in paths)
        table.write_text(f"text,format\n{rows}", encoding="utf-8")
        run = partial(run_command, "-m", "drillgen", compiled=folder / "compiled")
        # Only the first run compiles.
        run("sheet", str(paths[-1]), "-o", str(folder / f"first.{given.format}"))
        single = [
            run("sheet", str(path), "-o", str(folder / f"{path.stem}.{given.format}"))
            for path in paths[: given.singles]
        ]
        alone, spent = (sum(times) / len(single) for times in zip(*single, strict=True))
        print(f"single command: {alone:.2f} s, {spent:.2f} s of processor time")
        many = run("batch", str(table), "-o", str(folder / "out"))
        each, each_spent = (seconds / given.handouts for seconds in many)
        print(
            f"batch of {given.handouts}: a handout {each:.3f} s, processor time {each_spent:.3f} s"
        )
        cores = len(os.sched_getaffinity(0))
        print(f"ratio on the clock, {cores} cores: {alone / each:.1f}")
        print(f"ratio of processor time, one core: {spent / each_spent:.1f}")
        again, _ = run("batch", str(table), "-o", str(folder / "out"))
        print(f"again, nothing to do: {again:.2f} s")
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
        print(f"peak of the largest process: {peak} MB")


if __name__ == "__main__":
    main()
