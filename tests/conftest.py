"""No test reads or writes in the user's settings; what never changes is loaded once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache, wraps
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from drillgen.speech.pronounce.engine import Knowledge
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.prosody.reader import Prosody

# A busy machine is no fault of what is tested.
settings.register_profile("drillgen", suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("drillgen")


@pytest.fixture(scope="session", autouse=True)
def _load_once() -> Iterator[None]:
    """The dictionary and models of the installation, shared by all commands of the tests.

    Commands in processes of their own (test_cli_files.py) read them as a user's do.
    """
    with pytest.MonkeyPatch.context() as patch:
        for kind in (Knowledge, Lexicon, Prosody):
            patch.setattr(kind, "load", _keep(kind.load.__func__))
        yield


def _keep(load: Callable[..., Any]) -> Any:
    """A class method that keeps what it gave; documented as the one that it stands for."""
    kept = cache(load)

    @wraps(load)
    def once(kind: type, *given: Any, **named: Any) -> Any:
        return kept(kind, *given, **named)

    return classmethod(once)


@pytest.fixture(autouse=True)
def _no_personal_words(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    home: Path = tmp_path_factory.getbasetemp() / "settings"
    monkeypatch.setenv("DRILLGEN_WORDS", str(home / "words.txt"))
    monkeypatch.delenv("DRILLGEN_CLIENTS", raising=False)
