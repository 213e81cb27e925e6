"""What a worker needs to mine a large text: the engine behind `prompts.find`."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from drillgen.core.accents import DEFAULT_ACCENT, load_accent
from drillgen.corpus.difficulty import Scorer
from drillgen.corpus.find import Phrases, Tools
from drillgen.speech.pipeline import Engine
from drillgen.speech.swap.ladder import load_function_words
from drillgen.speech.swap.targets import parse_target


def load_tools(target: str = "IY", accent: str = DEFAULT_ACCENT) -> Tools:
    """Engine, scorer and function words. A worker calls this once, for itself."""
    return make_tools(Engine.load(accent=accent), target)


def make_tools(engine: Engine, target: str) -> Tools:
    """The tools around an engine that is there; `target` is an ARPAbet symbol."""

    def pronounce(text: str) -> Phrases:
        return tuple(
            tuple(word for reading in phrase for word in reading)
            for phrase in engine.pronounce_phrases(text)
        )

    return Tools(pronounce, Scorer.load(target, accent=engine.accent), load_function_words())


def tools_for(target: str, accent: str = DEFAULT_ACCENT) -> Callable[[], Tools]:
    """A loader for a target in any notation; it can be sent to other processes."""
    return partial(load_tools, parse_target(target, load_accent(accent)).symbol, accent)
