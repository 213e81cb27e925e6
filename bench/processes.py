"""Commands as processes of their own, and what they take."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from pathlib import Path


def run_command(*arguments: str, compiled: Path) -> tuple[float, float]:
    """Seconds on the clock, and of processor time, that Python takes with these arguments, its
    children included; the modules are compiled in a folder, as installed ones are."""
    environment = {
        **os.environ,
        "PYTHONDONTWRITEBYTECODE": "",
        "PYTHONPYCACHEPREFIX": str(compiled),
    }
    start, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, *arguments]
    subprocess.run(command, check=True, capture_output=True, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - start, spent
