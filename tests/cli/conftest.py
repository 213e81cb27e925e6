"""Makes the helper of this folder importable; no test reads the user's word list."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

# Tests are imported by file (import mode importlib): no folder is on the path.
sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty current folder and no personal word list."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DRILLGEN_WORDS", str(tmp_path / "own" / "words.txt"))
    return tmp_path
