"""Drills for a forward resonance: any text with its vowels swapped for /i/.

>>> import drillgen
>>> drill = drillgen.make_drill("Two boats.")
>>> print(drill.full)
tee beets.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drillgen.public import *  # noqa: F403
    from drillgen.public import __all__ as __all__


def __getattr__(name: str) -> object:
    """A public name. The command line needs few of them, and starts in half the time."""
    from importlib import import_module

    public = import_module("drillgen.public")
    if name != "__all__" and name not in public.__all__:
        raise AttributeError(f"module 'drillgen' has no attribute {name!r}")
    value: object = getattr(public, name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    from drillgen.public import __all__ as names

    return sorted({*globals(), *names})
