"""No test reads or writes in the user's settings; what never changes is loaded once."""

from __future__ import annotations

import gc
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from browser_scope import browser_scope
from hypothesis import HealthCheck, settings
from load_once import load_once

if TYPE_CHECKING:
    from playwright.sync_api import Playwright

# A busy machine is no fault of what is tested.
settings.register_profile("drillgen", suppress_health_check=[HealthCheck.too_slow], deadline=None)
settings.load_profile("drillgen")


def pytest_configure() -> None:
    """Look for cycles as seldom as a command does: dictionaries of millions of objects stay."""
    gc.set_threshold(100_000, 50, 100)


@pytest.fixture(scope="session", autouse=True)
def _load_once() -> Iterator[None]:
    """The dictionary and models of the installation, shared by all commands of the tests.

    Commands in processes of their own (test_cli_files.py) read them as a user's do.
    """
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        # A shell starts what runs in its background deaf to Ctrl-C; the commands would be, too.
        signal.signal(signal.SIGINT, signal.default_int_handler)
    with load_once():
        yield


@pytest.fixture(autouse=True)
def _no_personal_words(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    home: Path = tmp_path_factory.getbasetemp() / "settings"
    monkeypatch.setenv("DRILLGEN_WORDS", str(home / "words.txt"))
    monkeypatch.delenv("DRILLGEN_CLIENTS", raising=False)


@pytest.fixture(scope="session")
def panphon_table() -> Any:
    """The features of the IPA's segments in panphon 0.22; half a second to load and to read."""
    import panphon

    return panphon.FeatureTable()


@pytest.fixture(scope=browser_scope)
def playwright() -> Iterator[Playwright]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        yield started
