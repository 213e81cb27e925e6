"""Mining sentences on a Dask cluster: the same functions, another engine.

    pip install "drillgen[cluster]"
    python docs/find_with_dask.py corpus.txt --step 1 --rich-in GOOSE --count 20

Dask's bag (dask.bag) shares the blocks of the files out to its workers, each
of which must see the files under the same path. Without a cluster it uses the
processes of this machine; there `drillgen find` is simpler.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from pathlib import Path

import dask.bag

from drillgen.corpus.find import (
    Find,
    Query,
    Tools,
    check_text,
    judge_sentences,
    list_blocks,
    rank_finds,
    read_block,
)
from drillgen.corpus.mining import load_tools


def find_with_dask(
    paths: Iterable[Path],
    query: Query,
    count: int,
    load: Callable[[], Tools] = load_tools,
    block_size: int = 64 << 20,
) -> tuple[Find, ...]:
    """The best sentences of the files, as `drillgen.corpus.find.find_sentences` finds them."""
    for path in paths:
        check_text(path)
    blocks = [block for path in paths for block in list_blocks(path, block_size)]
    if not blocks:
        return ()
    sentences = dask.bag.from_sequence(blocks, npartitions=len(blocks)).map(read_block).flatten()
    finds = sentences.map_partitions(judge_sentences, load, query)
    best = finds.reduction(
        lambda part: rank_finds(part, count),
        lambda parts: rank_finds((find for part in parts for find in part), count),
    )
    found: tuple[Find, ...] = best.compute()
    return found


def main() -> None:
    """Read the command line, print the finds."""
    parser = argparse.ArgumentParser(description="Mine sentences on a Dask cluster.")
    parser.add_argument("paths", nargs="+", type=Path)
    parser.add_argument("--step", type=int, default=1)
    parser.add_argument("--rich-in", nargs="*", default=[])
    parser.add_argument("--count", type=int, default=20)
    options = parser.parse_args()
    query = Query(options.step, tuple(options.rich_in))
    for find in find_with_dask(options.paths, query, options.count):
        print(f"{find.share:.2f}\t{find.text}")


if __name__ == "__main__":
    main()
