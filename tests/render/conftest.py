"""Makes the factory of this folder importable, and a sheet to share."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

# Tests are imported by file (import mode importlib): no folder is on the path.
sys.path.insert(0, str(Path(__file__).parent))

from sheet_factory import make_sheet

from drillgen.core.values import Worksheet


@pytest.fixture(scope="session")
def sheet() -> Worksheet:
    """The harbour passage with its usual options."""
    return make_sheet()
