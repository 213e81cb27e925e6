"""The public names: few, each with an example that runs, all in docs/api.md."""

from __future__ import annotations

import doctest
import importlib
import inspect
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import drillgen
from drillgen.core.errors import OptionError
from drillgen.core.options import DrillOptions, Locale, Strategy, Watch

ROOT = Path(__file__).parents[2]


@pytest.fixture
def generator() -> Iterator[ModuleType]:
    sys.path.insert(0, str(ROOT / "tools"))
    try:
        yield importlib.import_module("make_api_docs")
    finally:
        sys.path.remove(str(ROOT / "tools"))


def test_there_are_at_most_25_names() -> None:
    assert len(drillgen.__all__) <= 25
    assert list(drillgen.__all__) == sorted(drillgen.__all__)


@pytest.mark.parametrize("name", drillgen.__all__)
def test_every_name_has_an_example_that_runs(name: str) -> None:
    value = getattr(drillgen, name)
    text = inspect.getdoc(value)
    assert text
    example = doctest.DocTestParser().get_doctest(
        text,
        {**{n: getattr(drillgen, n) for n in drillgen.__all__}, "drillgen": drillgen},
        name,
        None,
        0,
    )
    assert example.examples, f"{name} has no example"
    runner = doctest.DocTestRunner(verbose=False, optionflags=doctest.ELLIPSIS)
    runner.run(example)
    assert not runner.failures


def test_the_page_is_made_from_the_docstrings(generator: ModuleType) -> None:
    assert (ROOT / "docs" / "api.md").read_text(encoding="utf-8") == generator.make_docs(), (
        "run python tools/make_api_docs.py"
    )


def test_choices_may_be_given_as_they_are_typed() -> None:
    typed: dict[str, Any] = {"strategy": "Distance", "watch": "all", "locale": "british"}
    assert DrillOptions(accent="British", **typed) == DrillOptions(
        accent="non-rhotic", strategy=Strategy.DISTANCE, watch=Watch.ALL, locale=Locale.EN_GB
    )
    with pytest.raises(OptionError, match="strategy 'far' is unknown; choose one of: distance, "):
        DrillOptions(**(typed | {"strategy": "far"}))
