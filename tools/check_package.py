"""Build sdist and wheel, install them in clean environments and try what was installed.

Usage: python tools/check_package.py [PYTHON …]     interpreters; default: this one

The wheel is built from the sdist, so that both are tried. Each interpreter gets an environment
of its own with the wheel and what it depends on; there the command prints its version, examines
itself and makes a sheet, a page and a report. Prints what each environment takes on disk, the
largest parts, and whether all interpreters made the same bytes; exit code 1 if anything fails.
Needs `hatchling` and packages to install (from the network or a folder that pip knows).
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TEXT = "See you on the quay at noon. The blue boat leaves at four.\n"
TRIALS = (
    ("--version",),
    ("doctor",),
    ("sheet", "t.txt", *("-f", "pdf", "-f", "html", "-f", "json", "-f", "txt"), "-o", "sheet"),
    ("page", "t.txt", "-o", "page.html"),
    ("ladder", "--to", "phrase", "-o", "ladder.md"),
    ("prompts", "--answers", "t.txt", *("-f", "pdf", "-f", "md"), "-o", "prompts"),
    ("plan", "--start", "2030-01-07", "--ical", "plan.ics", *("-f", "pdf"), "-o", "plan.pdf"),
    ("guide", "-f", "md", "-o", "guide.md"),
    ("voice", "t.txt", "-o", "voice.wav"),
    ("tone", "-o", "tone.wav"),
    ("inspect", "t.txt"),
)


def run(*command: str | Path, cwd: Path = ROOT, shared: Path | None = None) -> str:
    """Run a command outside the source folder; its output, or SystemExit with what it said."""
    keep = {k: v for k, v in os.environ.items() if not k.startswith("PYTHON")}
    extra = {"PYTHONPATH": str(shared)} if shared else {}
    environment = {**keep, **extra, "DRILLGEN_WORDS": str(cwd / "own" / "words.txt")}
    done = subprocess.run(
        list(map(str, command)), cwd=cwd, env=environment, capture_output=True, text=True
    )
    if done.returncode:
        raise SystemExit(f"{' '.join(map(str, command))}:\n{done.stdout}{done.stderr}")
    return done.stdout


def build(folder: Path, python: str = sys.executable) -> tuple[Path, Path]:
    """The sdist, and the wheel that is built from it."""
    run(python, "-m", "hatchling", "build", "-t", "sdist", "-d", folder)
    (sdist,) = folder.glob("*.tar.gz")
    pip = (python, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation")
    run(*pip, "--wheel-dir", folder, sdist, cwd=folder)
    (wheel,) = folder.glob("*.whl")
    return sdist, wheel


def try_out(command: Sequence[str | Path], folder: Path, shared: Path | None = None) -> str:
    """Run all trials in a folder; a hash of what they made."""
    folder.mkdir()
    (folder / "t.txt").write_text(TEXT, encoding="utf-8")
    for trial in TRIALS:
        run(*command, *trial, cwd=folder, shared=shared)
    digest = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.parent.name != "own":
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def install(python: str, wheel: Path, folder: Path) -> Path:
    """A clean environment with the wheel; its Python."""
    run(python, "-m", "venv", folder, cwd=folder.parent)
    clean = folder / ("Scripts" if os.name == "nt" else "bin") / "python"
    run(clean, "-m", "pip", "install", "--quiet", wheel, cwd=folder.parent)
    return clean


def measure(environment: Path) -> tuple[float, list[tuple[float, str]]]:
    """Megabytes of an environment without pip, and its largest packages."""
    (site,) = environment.rglob("site-packages")
    sizes = {
        part: sum(file.stat().st_size for file in part.rglob("*") if file.is_file()) / 1e6
        for part in site.iterdir()
        if part.is_dir() and not part.name.startswith("pip")
    }
    largest = sorted(((size, part.name) for part, size in sizes.items()), reverse=True)
    return sum(sizes.values()), largest[:8]


def main(interpreters: Sequence[str]) -> int:
    """Build, install, try, measure."""
    made = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sdist, wheel = build(folder)
        for path in (sdist, wheel):
            print(f"{path.name}: {path.stat().st_size / 1e6:.1f} MB")
        for number, python in enumerate(interpreters):
            clean = install(python, wheel, folder / f"env{number}")
            version = run(clean, "--version").strip()
            made[version] = try_out((clean, "-m", "drillgen"), folder / f"trial{number}")
            total, largest = measure(folder / f"env{number}")
            parts = ", ".join(f"{part} {size:.0f}" for size, part in largest)
            print(f"{version}: {total:.0f} MB ({parts}); made {made[version]}")
    same = len(set(made.values())) == 1
    print("all made the same bytes" if same else "THE BYTES DIFFER")
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:] or [sys.executable]))
