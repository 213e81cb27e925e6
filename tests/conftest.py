"""No test reads or writes in the user's settings."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _no_personal_words(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    home: Path = tmp_path_factory.getbasetemp() / "settings"
    monkeypatch.setenv("DRILLGEN_WORDS", str(home / "words.txt"))
    monkeypatch.delenv("DRILLGEN_CLIENTS", raising=False)
