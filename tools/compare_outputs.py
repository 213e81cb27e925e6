"""Compare what two checkouts write, byte by byte.

    python tools/compare_outputs.py OLD NEW [--keep FOLDER]

OLD and NEW are folders of checkouts; both run under the interpreter that runs this script,
which must have the dependencies. Every sheet is written in every format that it has; a
difference is printed with its first differing line. Exit code 1 where anything differs.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

TEXT: Final = (
    "On Monday the old baker read 23 letters; the rain had stopped.\n\n"
    "“Will you close the door?” she asked. Dr. Quill said no, kept the close of the year "
    "for himself and took the 3:30 train to Wrexley, £4.50 poorer.\n"
)

CASES: Final[tuple[tuple[str, str], ...]] = (
    *((f"sheet.{f}", f"sheet -f {f} -o OUT") for f in ("pdf", "md", "txt", "json")),
    *((f"text.{f}", f"sheet TEXT -f {f} -o OUT") for f in ("pdf", "md", "txt", "json", "jsonl")),
    ("large.pdf", "sheet TEXT --large --size letter --discreet --rungs 3 -o OUT"),
    ("goose.md", "sheet TEXT --target GOOSE --partial distance --rungs 2 -f md -o OUT"),
    ("nonrhotic.txt", "sheet TEXT --accent non-rhotic --partial content -f txt -o OUT"),
    *(
        (f"prompts.{f}", f"prompts --step 2 --count 3 --seed 7 -f {f} -o OUT")
        for f in ("pdf", "md", "txt", "json")
    ),
    *(
        (f"ladder.{f}", f"ladder --contrast GOOSE --contrast NURSE -f {f} -o OUT")
        for f in ("pdf", "md", "txt", "json")
    ),
    *(
        (f"plan.{f}", f"plan --weeks 2 --days 3 --start 2026-12-01 -f {f} -o OUT")
        for f in ("pdf", "md", "txt")
    ),
    ("page.html", "page TEXT -o OUT"),
    ("page-discreet.html", "page TEXT --discreet -o OUT"),
    ("word.txt", "word beautiful"),
    ("difficulty.txt", "difficulty TEXT"),
)
"""File name and command line; OUT and TEXT stand for paths, without OUT the output is kept."""


def write_all(checkout: Path, folder: Path) -> None:
    """Run every case with a checkout's own code."""
    text = folder / "reading.txt"
    text.write_text(TEXT, encoding="utf-8")
    home = folder / "home"
    home.mkdir()
    environment = {**os.environ, "PYTHONPATH": str(checkout), "HOME": str(home)}
    environment.pop("XDG_CONFIG_HOME", None)
    for name, line in CASES:
        target = folder / name
        words = [{"OUT": str(target), "TEXT": str(text)}.get(w, w) for w in line.split()]
        done = subprocess.run(
            [sys.executable, "-m", "drillgen", *words],
            capture_output=True,
            env=environment,
            cwd=checkout,
            check=False,
        )
        if done.returncode:
            target.write_bytes(b"FAILED\n" + done.stderr)
        elif "OUT" not in line.split():
            target.write_bytes(done.stdout)


def first_difference(old: bytes, new: bytes) -> str:
    """The first lines that differ, shortened."""
    if b"".join(old.split()) == b"".join(new.split()):
        return "in white space only"
    pairs = zip(old.splitlines(), new.splitlines(), strict=False)
    for number, (a, b) in enumerate(pairs, 1):
        if a != b:
            return f"line {number}:\n    - {a[:160]!r}\n    + {b[:160]!r}"
    return f"{len(old)} bytes against {len(new)}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("old", type=Path)
    parser.add_argument("new", type=Path)
    parser.add_argument("--keep", type=Path, help="folder for what was written")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        base = args.keep or Path(scratch)
        folders = base / "old", base / "new"
        for folder, checkout in zip(folders, (args.old, args.new), strict=True):
            folder.mkdir(parents=True)
            write_all(checkout.resolve(), folder)
        differences = 0
        for name, _ in CASES:
            old, new = ((folder / name).read_bytes() for folder in folders)
            if old != new:
                differences += 1
                print(f"{name} differs, {first_difference(old, new)}")
        print(f"{len(CASES)} outputs compared, {differences} differ")
    return int(differences > 0)


if __name__ == "__main__":
    sys.exit(main())
