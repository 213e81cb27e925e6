"""How long a browser of the tests lasts."""

from __future__ import annotations

from typing import Literal

import pytest


def browser_scope(fixture_name: str, config: pytest.Config) -> Literal["session", "module"]:
    """Playwright keeps an event loop running as long as it is open, and other tests need theirs:
    it lasts for one module, or, where only browser tests run, for all of them."""
    del fixture_name
    return "session" if config.getoption("markexpr") == "browser" else "module"
