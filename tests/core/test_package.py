"""What is shipped: notices of all that comes from others, and a package that works alone."""

from __future__ import annotations

import ast
import re
import sys
import tarfile
import tomllib
import zipfile
from fnmatch import fnmatch
from importlib import metadata
from itertools import chain
from pathlib import Path
from typing import Final

import pytest
from check_package import build, try_out

from drillgen.cli import run

ROOT: Final = Path(__file__).parents[2]
PROJECT: Final = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
NOTICE: Final = (ROOT / "NOTICE").read_text("utf-8")

PRIVATE: Final = {"_get_features": "nltk"}
"""Private parts of libraries that we use, and whose; each needs an upper bound. g2p_en's weights
and the files of the fonts are taken from inside their packages, and are bounded for that."""

FOR_DEVELOPERS: Final = {"dev", "train"}
WITH_FILES: Final = ("g2p_en", "font-source-sans-pro")
OWN: Final = {"_asdict", "_replace", "_fields", "_repr_html_"}
"""Public by their documentation, whatever the underscore says."""


def rows(heading: str) -> list[list[str]]:
    """A table of the notices, without its head."""
    part = NOTICE.split(f"\n{heading}\n---")[1].split("\n---")[0]
    lines = [line for line in part.splitlines() if " | " in line or re.search(r"\w\s*\|", line)]
    return [[cell.strip() for cell in line.split("|")] for line in lines[1:]]


def requirements() -> dict[str, str]:
    """Package → bounds, of all that is needed and of the extras for users."""
    extras = PROJECT["optional-dependencies"]
    shown = (v for k, v in extras.items() if k not in FOR_DEVELOPERS)
    found = [*PROJECT["dependencies"], *chain(*shown)]
    pairs = (re.fullmatch(r"([\w-]+)(?:\[\w+\])?(.*)", text) for text in found)
    return {pair[1]: pair[2] for pair in pairs if pair}


def test_every_file_has_a_notice() -> None:
    table = rows("Files")
    used = set()
    for folder in ("drillgen/data", "templates", "corpora"):
        for path in (ROOT / folder).rglob("*"):
            if path.is_file():
                name = path.relative_to(ROOT).as_posix()
                used.add(next(row[0] for row in table if fnmatch(name, row[0])))
    assert used == {row[0] for row in table}


def test_what_was_trained_or_made_from_others_is_not_our_own() -> None:
    """Whoever adds a model or a packed table must say what it comes from."""
    table = rows("Files")
    for path in (ROOT / "drillgen" / "data").iterdir():
        if path.suffix in (".npz", ".gz"):
            name = path.relative_to(ROOT).as_posix()
            row = next(row for row in table if fnmatch(name, row[0]))
            assert row[2] != "own", name


def test_every_package_has_a_notice() -> None:
    assert {row[0] for row in rows("Packages")} == {*requirements()}


def _family(text: str) -> str:
    text = text.lower()
    order = ("lgpl", "lesser", "gpl", "general public", "apache", "ofl", "bsd", "psf", "mit")
    found = next((name for name in order if name in text), "")
    return {"lesser": "lgpl", "general public": "gpl"}.get(found, found)


@pytest.mark.parametrize(("name", "licence"), [(r[0], r[1]) for r in rows("Packages")])
def test_a_licence_is_the_one_that_the_package_names(name: str, licence: str) -> None:
    try:
        said = metadata.metadata(name)
    except metadata.PackageNotFoundError:
        pytest.skip("not installed")
    fields = {name: said.get_all(name) or [] for name in ("License", "License-Expression")}
    classes = [c for c in said.get_all("Classifier") or [] if c.startswith("License")]
    texts = [*fields["License-Expression"], *classes, *(text[:80] for text in fields["License"])]
    families = {family for text in texts if (family := _family(text))}
    assert not families or _family(licence.partition(";")[0]) in families


def test_private_parts_of_libraries_are_known_and_bounded() -> None:
    found = set()
    for path in (ROOT / "drillgen").rglob("*.py"):
        tree = ast.parse(path.read_text("utf-8"))
        own = {n.name for n in ast.walk(tree) if isinstance(n, ast.FunctionDef | ast.ClassDef)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and re.match(r"_[a-z]", node.attr):
                ours = isinstance(node.value, ast.Name) and node.value.id in ("self", "cls")
                if not ours and node.attr not in OWN:
                    found.add(node.attr)
            if isinstance(node, ast.ImportFrom) and not (node.module or "").startswith("drillgen"):
                found.update(a.name for a in node.names if a.name.startswith("_"))
        found -= own - {*PRIVATE}
    assert found == {*PRIVATE}
    bounds = requirements()
    for name in (*PRIVATE.values(), *WITH_FILES):
        assert "<" in bounds[name], name


def test_the_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"drillgen {PROJECT['version']}\n"


def test_sdist_and_wheel_are_whole_and_work(tmp_path: Path) -> None:
    """The wheel, made from the sdist, works where there is no source folder.

    Its libraries are those of this environment; tools/check_package.py installs them anew.
    """
    pytest.importorskip("hatchling")
    sdist, wheel = build(tmp_path)
    with tarfile.open(sdist) as packed:
        names = {name.partition("/")[2] for name in packed.getnames()}
    assert {"NOTICE", "LICENSE", "README.md", "tests/core/test_package.py"} <= names
    with zipfile.ZipFile(wheel) as archive:
        inside = {*archive.namelist()}
        archive.extractall(tmp_path / "alone")
    for folder in ("templates", "corpora"):
        shipped = {p.relative_to(ROOT).as_posix() for p in (ROOT / folder).rglob("*.*")}
        assert {f"drillgen/_data/{name}" for name in shipped} <= inside
    data = {p.relative_to(ROOT).as_posix() for p in (ROOT / "drillgen/data").rglob("*.*")}
    assert data <= inside
    assert any(name.endswith("licenses/NOTICE") for name in inside)
    try_out((sys.executable, "-m", "drillgen"), tmp_path / "trial", tmp_path / "alone")
