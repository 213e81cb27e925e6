"""The example for a cluster, run on Dask's local scheduler, finds the same."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from drillgen.core.errors import InputError
from drillgen.corpus.find import Query, find_sentences
from drillgen.corpus.reader import load_passages

EXAMPLE = Path(__file__).parents[2] / "docs" / "find_with_dask.py"


@pytest.fixture(scope="module")
def example() -> ModuleType:
    spec = importlib.util.spec_from_file_location("find_with_dask", EXAMPLE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_dask_finds_the_same(example: ModuleType, tmp_path: Path) -> None:
    import dask

    path = tmp_path / "corpus.txt"
    path.write_text("\n\n".join(p.text for p in load_passages()), encoding="utf-8")
    for step, sets in ((1, ("FLEECE",)), (3, ("GOOSE", "GOAT"))):
        ours = find_sentences(
            [path], example.load_tools, step=step, rich_in=sets, count=4, workers=1
        )
        with dask.config.set(scheduler="synchronous"):
            theirs = example.find_with_dask([path], Query(step, sets), 4, block_size=4000)
        assert ours
        assert theirs == ours


def test_nothing_to_search(example: ModuleType, tmp_path: Path) -> None:
    path = tmp_path / "empty.txt"
    path.write_bytes(b"")
    with pytest.raises(InputError, match="no text"):
        example.find_with_dask([path], Query(1), 3)
    with pytest.raises(InputError, match="can't be read"):
        example.find_with_dask([tmp_path / "none.txt"], Query(1), 3)
