"""Where the browser of the tests and of the bench of the meter is."""

from __future__ import annotations

import os
import shutil


def find_chromium() -> str | None:
    """$DRILLGEN_CHROMIUM, else chromium-headless-shell (the same without its windows: half the
    work), else chromium; None where there is none."""
    named = os.environ.get("DRILLGEN_CHROMIUM")
    return named or shutil.which("chromium-headless-shell") or shutil.which("chromium")
