"""No garbage collection while many tuples are made: none of them is in a cycle.

The collector would look through all of them again and again, which takes several times as
long as making them; when it goes on, it need not look at them at once either.
"""

from __future__ import annotations

import gc


class CollectorPause:
    """`with CollectorPause():` turns the collector off, and on again if it was on."""

    __slots__ = ("_was_on",)

    def __enter__(self) -> None:
        self._was_on = gc.isenabled()
        gc.disable()

    def __exit__(self, *_: object) -> None:
        if self._was_on:
            if not gc.get_freeze_count():  # else it is the caller's, who has frozen objects
                gc.freeze()
                gc.unfreeze()
            gc.enable()
