"""Makes the takes of this folder importable; a take that two tests measure is aligned once."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drillgen.core.values import Delivery, Drill
from drillgen.sound.ear import check
from drillgen.sound.ear.listen import Recording

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session", autouse=True)
def _align_once() -> Iterator[None]:
    align = check._align
    kept: dict[tuple[int, int, Delivery], tuple[Drill, Recording, Any]] = {}

    def align_once(drill: Drill, take: Recording, delivery: Delivery, name: str) -> Any:
        key = (id(drill), id(take), delivery)
        if key not in kept:
            # Both are kept, so that neither's identity is given to another.
            kept[key] = (drill, take, align(drill, take, delivery, name))
        return kept[key][2]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(check, "_align", align_once)
        yield
