"""Mine large texts for sentences that suit a step and a contrast.

A text of any size is read in blocks of bytes, each block by one process, in
flat memory and time linear in the size. A sentence belongs to the block in
which it begins, and where sentences begin is found from the bytes around
alone; so the result is the same for any block size and number of workers.
`judge_sentence` knows nothing of files or processes: it runs as it is in any
other engine (docs/find_with_dask.py).

A text in blocks is in UTF-8, or has one byte a sign; others are read whole and copied so first.
Sentences are found by marks and capitals, with a short list of abbreviations; whatever is not
plain prose is left out.
"""

from __future__ import annotations

import codecs
import hashlib
import multiprocessing
import os
import queue
import re
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Final, NamedTuple

from drillgen.core.errors import DrillgenError, InputError, OptionError
from drillgen.core.phones import vowel_indexes
from drillgen.core.sources import Tell, check_magic, guess_encoding, is_plain, read_passage
from drillgen.core.values import Origin, Phone, Pronunciation
from drillgen.corpus.difficulty import ScoredWord, Scorer, find_step, score_total
from drillgen.corpus.reader import LEXICAL_SETS, STEPS, Place, has_set_vowel, read_set

BLOCK: Final = 4 << 20
"""Bytes that one task covers."""

CHUNK: Final = 1 << 18
"""Bytes that are read at once."""

CONTEXT: Final = 256
"""Bytes around a place that tell whether a sentence begins there."""

_LETTER: Final = re.compile(rb"[A-Za-z]")

_HEAD: Final = 1 << 20
"""Bytes that are looked at before all work; what isn't UTF-8 further on is left out."""

LONGEST: Final = 4096
"""Bytes of the longest sentence; anything longer isn't one."""

SENTENCE_WORDS: Final = {1: (4, 10), 2: (7, 17), 3: (12, 26)}
"""Fewest and most words, by step; the most are those of our passages."""

CARRIERS: Final = 2
"""Fewest content words with a vowel of the contrast."""

MAX_COUNT: Final = 10_000

Phrases = Sequence[Sequence[Pronunciation]]
"""The spoken words of each breath phrase, in order."""

AVERAGE_VOWEL: Final = "EH"
"""Stands in for the vowels of the contrast when the step is judged: 3.1 Bark from
FLEECE, unrounded; the vowels of running English are 3.6 Bark away on average."""

Pronounce = Callable[[str], Phrases]
"""A text to its pronunciations, rhotic."""

Progress = Callable[[int, int], None]
"""Told how many bytes are done, and how many there are in all."""


@dataclass(frozen=True, slots=True)
class Query:
    """What is looked for."""

    step: int
    rich_in: tuple[str, ...] = ()
    """Lexical sets of Wells (1982), in any case; empty: any vowels."""

    def __post_init__(self) -> None:
        if self.step not in STEPS:
            raise OptionError(f"step must be 1, 2 or 3, not {self.step}")
        object.__setattr__(self, "rich_in", tuple(map(read_set, self.rich_in)))


class Find(NamedTuple):
    """A sentence that suits the query."""

    text: str
    share: float
    """Content words with a vowel of the contrast, as a share of all words, 0 to 1."""

    carriers: tuple[str, ...]
    """Those words, lower case, in order."""

    difficulty: float = 0.0
    """Total of `drillgen.corpus.difficulty`, 0 to 100; 0 if nothing scored it."""

    @property
    def rank(self) -> tuple[float, bytes]:
        """Sorts the richest first. Equals stand in an order of no meaning, by
        their SHA-256, so that the first of the alphabet don't fill the list."""
        return -self.share, hashlib.sha256(self.text.lower().encode()).digest()


# --------------------------------------------------------------------------
# Sentences


_MARK = rb"(?:[.!?]|\xe2\x80\xa6)"
_CLOSERS = rb"(?:[\"')\]]|\xe2\x80[\x99\x9d]|\xc2\xbb){0,8}+"
_OPENERS = rb"(?:[\"'(\[]|\xe2\x80[\x98\x9c]|\xc2\xab){0,4}+"
# Every repeat has a bound, and a row of marks is tried from its beginning only: so a
# boundary is told by fewer than CONTEXT bytes, and time is linear for any input.
_BOUNDARY = re.compile(
    rb"(?<![.!?])(?<!\xe2\x80\xa6)(?P<end>" + _MARK + rb"{1,16}+" + _CLOSERS + rb")\s{1,64}+"
    rb"(?=" + _OPENERS + rb"(?:[A-Z0-9]|\xc3[\x80-\x9e]))"
    rb"|(?P<gap>\n[ \t\r]{0,64}+\n\s{0,64}+)"
)
_ABBREVIATION = re.compile(
    rb"(?:^|[\s(\"'.])(?:Mr|Mrs|Ms|Dr|Prof|Rev|Capt|Col|Gen|Lt|Sgt|St|Mt|Jr|Sr|No|vs"
    rb"|[A-HJ-Z])$"
)
_LOOKAHEAD = 16
"""Bytes that must follow a boundary before it is sure (openers and a capital)."""


class _Scanner:
    """Finds the sentences in chunks of bytes, and where each begins."""

    def __init__(self, offset: int, begun: bool) -> None:
        self.buffer = b""
        self.base = offset
        """Offset of the buffer's first byte."""
        self.start = 0
        """Where the present sentence begins, in the buffer."""
        self.pos = 0
        """Where to look for the next boundary, in the buffer."""
        self.skip = not begun
        """The present sentence is too long, or its beginning wasn't seen."""

    def feed(self, chunk: bytes, last: bool) -> Iterator[tuple[int, bytes]]:
        """Offsets and bytes of the sentences that this chunk completes."""
        self.buffer += chunk
        while match := _BOUNDARY.search(self.buffer, self.pos):
            if not last and match.end() + _LOOKAHEAD > len(self.buffer):
                self.pos = match.start()
                break
            if match["gap"] is None and self._is_abbreviation(match.start(), match["end"]):
                self.pos = match.start() + 1
                continue
            yield from self._sentence(match.start() if match["end"] is None else match.end("end"))
            self.skip = False
            self.start = self.pos = match.end()
        else:
            # A boundary that begins before here would have been found.
            self.pos = max(self.pos, len(self.buffer) - CONTEXT)
        if last:
            yield from self._sentence(len(self.buffer))
            return
        rest = len(self.buffer[self.start :].lstrip())
        if not self.skip:
            self.start = len(self.buffer) - rest
        if self.skip or rest > LONGEST + CONTEXT:
            self.skip = True
            self.start = max(self.start, len(self.buffer) - CONTEXT)
        cut = max(0, min(self.start, self.pos) - CONTEXT)
        self.buffer = self.buffer[cut:]
        self.base, self.start, self.pos = self.base + cut, self.start - cut, self.pos - cut

    def _sentence(self, stop: int) -> Iterator[tuple[int, bytes]]:
        if not self.skip:
            raw = self.buffer[self.start : stop]
            text = raw.lstrip()
            yield self.base + self.start + len(raw) - len(text), text

    def _is_abbreviation(self, place: int, end: bytes) -> bool:
        before = self.buffer[max(0, place - 8) : place]
        return end == b"." and _ABBREVIATION.search(before) is not None


def _clean(raw: bytes, encoding: str = "utf-8") -> str | None:
    """One line of text, or None if it is too long, empty or not in the encoding."""
    if len(raw) > LONGEST:
        return None
    try:
        # A byte order mark is no part of the first sentence.
        return " ".join(raw.decode(encoding).lstrip("\ufeff").split()) or None
    except UnicodeDecodeError:
        return None


def iter_sentences(chunks: Iterable[bytes]) -> Iterator[str]:
    """The sentences of a stream of UTF-8 bytes, white space made single.

    Memory is flat for any stream, however it is cut into chunks, and the
    sentences don't depend on the cuts. Sentences end at . ! ? … before white
    space and a capital or digit, and at empty lines. Stretches of more than
    4,096 bytes and sentences that aren't UTF-8 are left out.

    >>> list(iter_sentences([b"Is it Mr. Fox", b"? Yes", b". Good"]))
    ['Is it Mr. Fox?', 'Yes.', 'Good']
    """
    scanner = _Scanner(0, begun=True)
    for chunk in chunks:
        for _, raw in scanner.feed(chunk, last=False):
            if text := _clean(raw):
                yield text
    for _, raw in scanner.feed(b"", last=True):
        if text := _clean(raw):
            yield text


class Block(NamedTuple):
    """A task: the sentences of a file that begin within a range of bytes."""

    path: str
    start: int
    stop: int
    encoding: str = "utf-8"


def check_text(path: Path, tell: Tell | None = None) -> str:
    """The encoding of a file, by its first megabyte: UTF-8; where there is `tell`, one of a
    byte a sign may be guessed. InputError says why a file can't be read."""
    head = _read_head(path)
    check_magic(head, path.name)
    if b"\0" in head:
        raise InputError("not a text file", "give a plain text in UTF-8", file=path.name)
    encoding = "utf-8"
    try:
        codecs.getincrementaldecoder(encoding)().decode(head)
    except UnicodeDecodeError as error:
        guess = guess_encoding(head) if tell else None
        if guess is None or tell is None:
            line = head.count(b"\n", 0, error.start) + 1
            raise InputError("not UTF-8", "save it as UTF-8", file=path.name, line=line) from None
        encoding = guess[1]
        tell(f"{path.name} is not UTF-8; read as {encoding} (a guess: save it as UTF-8)")
    if len(head) < _HEAD and not _LETTER.search(head):
        problem = "nothing to say" if head.strip() else "no text"
        raise InputError(f"there is {problem} in it", "give a text in English", file=path.name)
    return encoding


def _read_head(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(_HEAD)
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise InputError(f"can't be read ({reason})", "check the name", file=path.name) from None


def list_blocks(path: Path, size: int = BLOCK, encoding: str = "utf-8") -> tuple[Block, ...]:
    """The blocks of a file."""
    total = path.stat().st_size
    return tuple(
        Block(str(path), start, min(start + size, total), encoding)
        for start in range(0, total, size)
    )


def read_block(block: Block) -> Iterator[str]:
    """The sentences that begin within a block."""
    offset = max(0, block.start - CONTEXT)
    scanner = _Scanner(offset, begun=block.start == 0)
    with Path(block.path).open("rb") as file:
        file.seek(offset)
        chunk = file.read(CHUNK)
        while True:
            for place, raw in scanner.feed(chunk, last=not chunk):
                if place >= block.stop:
                    return
                if place >= block.start and (text := _clean(raw, block.encoding)):
                    yield text
            if not chunk or (scanner.skip and scanner.base + scanner.start >= block.stop):
                return
            chunk = file.read(CHUNK)


# --------------------------------------------------------------------------
# Judging

_PLAIN = re.compile(r"[“\"‘']?[A-Z][A-Za-z ,;:'’\"“”‘–—-]*[.!?][\"”’']?")
_SHOUT = re.compile(r"\b[A-Z]{2,}\b")


def is_plain_sentence(text: str, step: int) -> bool:
    """Whether a sentence is plain prose of the step's length.

    Plain: it begins with a capital and ends with . ! or ?; letters and common
    marks only, quotation marks in pairs, no word in capitals.
    """
    low, high = SENTENCE_WORDS[step]
    return (
        low <= text.count(" ") + 1 <= high
        and _PLAIN.fullmatch(text) is not None
        and _SHOUT.search(text) is None
        and text.count('"') % 2 == 0
        and text.count("“") == text.count("”")
    )


class Tools(NamedTuple):
    """What is loaded once for many sentences. A worker loads its own."""

    pronounce: Pronounce
    scorer: Scorer | None = None
    """Without it a sentence is judged by its length alone."""

    function_words: frozenset[str] = frozenset()
    """Words that are weak in running speech, so that they carry no contrast."""


def score_phrases(phrases: Phrases, scorer: Scorer) -> float:
    """Difficulty of a sentence under the full swap, 0 to 100."""
    return score_total(
        tuple(
            ScoredWord(word.word, word.phones, vowel_indexes(word.phones), i == len(phrase) - 1)
            for phrase in phrases
            for i, word in enumerate(phrase)
        ),
        scorer,
    )


def judge_sentence(text: str, tools: Tools, query: Query) -> Find | None:
    """The sentence with its richness, or None if it doesn't suit.

    It suits if it is plain and of the step's length, all its words are in the
    dictionary or built from words that are, two different content words or
    more have a vowel of the contrast under primary stress, and its difficulty
    is that of the step. The vowels of the contrast count as average ones
    there: who asks for GOOSE at step 1 wants the easiest of the sentences that
    are full of GOOSE, and gets none if GOOSE itself makes them hard. A pure
    function: any engine can run it.
    """
    if not is_plain_sentence(text, query.step):
        return None
    return _judge_phrases(text, tools.pronounce(text), tools, query)


def _carries(word: Pronunciation, tools: Tools, query: Query) -> bool:
    return word.word not in tools.function_words and any(
        has_set_vowel(word.listed[0], name) for name in query.rich_in
    )


def _judge_phrases(text: str, phrases: Phrases, tools: Tools, query: Query) -> Find | None:
    words = tuple(word for phrase in phrases for word in phrase)
    if not words or any(
        word.origin in (Origin.PREDICTED, Origin.NAME) or not word.phones for word in words
    ):
        return None
    carriers = tuple(word.word for word in words if _carries(word, tools, query))
    # "Boo, boo, boo!" is no practice: different words count.
    if query.rich_in and len(set(carriers)) < CARRIERS:
        return None
    share = len(carriers) / len(words)
    if tools.scorer is None:
        return Find(text, share, carriers)
    apart = level_contrast(phrases, query.rich_in, tools.function_words)
    if find_step(score_phrases(apart, tools.scorer)) != query.step:
        return None
    return Find(text, share, carriers, score_phrases(phrases, tools.scorer))


def level_contrast(
    phrases: Phrases, rich_in: Sequence[str], function_words: frozenset[str]
) -> Phrases:
    """The sentence with an average vowel for each vowel of the contrast."""
    # Of a set at the end of words ("happY") the vowel is no stressed one.
    stressed = [name for name in rich_in if LEXICAL_SETS[name].place is not Place.FINAL]
    if not stressed:
        return phrases

    def level(word: Pronunciation) -> Pronunciation:
        if word.word in function_words or not any(
            has_set_vowel(word.listed[0], name) for name in stressed
        ):
            return word
        phones = tuple(
            Phone(AVERAGE_VOWEL, phone.stress) if phone.stress == 1 else phone
            for phone in word.phones
        )
        return replace(word, phones=phones)

    return tuple(tuple(map(level, phrase)) for phrase in phrases)


def judge_sentences(
    sentences: Iterable[str], load: Callable[[], Tools], query: Query
) -> Iterator[Find]:
    """Judge many sentences: `load` is called once. For a partition of an engine."""
    tools = load()
    memory = _Memory(tools, query)
    for text in sentences:
        if is_plain_sentence(text, query.step) and memory.may_suit(text):
            phrases = tools.pronounce(text)
            memory.learn(phrases)
            if find := _judge_phrases(text, phrases, tools, query):
                yield find


_SPELLED = re.compile(r"[a-z]+(?:'[a-z]+)*")
_BY_CONTEXT = re.compile(r"[a-z] A\b|[A-Z][a-z]+ I\b")
"""Letters that may be said by name or as a number: "grade A", "Charles I"."""

_MEMORY: Final = 200_000


class _Memory:
    """Which words carry the contrast, learnt on the way.

    Most sentences have fewer than two such words. Once all their words are
    known they needn't be pronounced, which is most of the work. Only words
    that are said alike everywhere are learnt, so what is left out is what
    `judge_sentence` would refuse.
    """

    def __init__(self, tools: Tools, query: Query) -> None:
        self._tools = tools
        self._query = query
        self._known: dict[str, bool] = {}

    def may_suit(self, text: str) -> bool:
        """False only if the sentence has too few words of the contrast for sure."""
        if not self._query.rich_in or _BY_CONTEXT.search(text):
            return True
        carriers = set()
        for word in _SPELLED.findall(text.replace("’", "'").lower()):
            carries = self._known.get(word)
            if carries is None:
                return True
            if carries:
                carriers.add(word)
        return len(carriers) >= CARRIERS

    def learn(self, phrases: Phrases) -> None:
        """Take in the words of a sentence."""
        if self._query.rich_in and len(self._known) < _MEMORY:
            for phrase in phrases:
                for word in phrase:
                    if word.origin is Origin.DICTIONARY and word.word not in self._known:
                        self._known[word.word] = _carries(word, self._tools, self._query)


def rank_finds(finds: Iterable[Find], count: int) -> tuple[Find, ...]:
    """The `count` best different sentences, richest first, in flat memory."""
    best: dict[str, Find] = {}
    for find in finds:
        key = re.sub(r"[^a-z]+", " ", find.text.lower()).strip()
        # Of two that differ in marks only, the one that ranks first stays.
        if key not in best or find.rank < best[key].rank:
            best[key] = find
        if len(best) > 4 * count + 64:
            kept = sorted(best.items(), key=lambda item: item[1].rank)[:count]
            best = dict(kept)
    return tuple(sorted(best.values(), key=lambda find: find.rank)[:count])


# --------------------------------------------------------------------------
# All cores


def find_sentences(
    paths: Sequence[Path],
    load: Callable[[], Tools],
    *,
    step: int,
    rich_in: Sequence[str] = (),
    count: int = 20,
    workers: int | None = None,
    progress: Progress | None = None,
    block_size: int = BLOCK,
    tell: Tell | None = None,
) -> tuple[Find, ...]:
    """The best sentences of the files, richest first.

    `load` gives a worker its tools; it must be a function of a module, since
    each process calls it for itself. `workers` is the number of processes:
    all usable cores unless given, but no more than fill a block each; 1 stays in
    this process. The result doesn't depend on `workers` or `block_size`. `tell` is told
    what encoding was guessed; without it plain texts must be in Unicode.

    Raises OptionError for an unknown step or lexical set, or a count outside 1
    to 10,000; InputError for a file that can't be read or isn't a text.
    """
    if not 1 <= count <= MAX_COUNT:
        raise OptionError(f"count must be 1 to {MAX_COUNT}, not {count}")
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    if workers is not None and workers < 1:
        raise OptionError(f"workers must be 1 or more, not {workers}")
    query = Query(step, tuple(rich_in))
    best: tuple[Find, ...] = ()
    done = 0
    with tempfile.TemporaryDirectory(prefix="drillgen-") as folder:
        plain = [_find_plain(path, Path(folder), tell) for path in paths]
        blocks = [
            block
            for path in plain
            for block in list_blocks(path, block_size, check_text(path, tell))
        ]
        total = sum(block.stop - block.start for block in blocks)
        filled = -(-total // block_size)
        chosen = min(cores or 1, filled) if workers is None else min(workers, len(blocks))
        results = (
            _run_here(blocks, load, query, count)
            if chosen <= 1
            else _run_spread(blocks, load, query, count, chosen)
        )
        for size, finds in results:
            best = rank_finds((*best, *finds), count)
            done += size
            if progress is not None:
                progress(done, total)
    return best


def _find_plain(path: Path, folder: Path, tell: Tell | None) -> Path:
    """The file, or its text as UTF-8 in a folder where it is of another kind: a word
    processor's, a PDF, UTF-16 …"""
    if is_plain(_read_head(path), path.suffix):
        return path
    copy = Path(tempfile.mkdtemp(dir=folder)) / f"{path.stem}.txt"
    copy.write_bytes(read_passage(path, None, tell).text.encode())
    return copy


_Result = tuple[int, tuple[Find, ...]]


def _run_here(
    blocks: Iterable[Block], load: Callable[[], Tools], query: Query, count: int
) -> Iterator[_Result]:
    tools: Tools | None = None
    for block in blocks:
        # Loaded when the first block is: no file, no loading.
        tools = tools or load()
        yield _search(block, tools, query, count)


def _search(block: Block, tools: Tools, query: Query, count: int) -> _Result:
    finds = judge_sentences(read_block(block), lambda: tools, query)
    return block.stop - block.start, rank_finds(finds, count)


def _work(
    tasks: multiprocessing.Queue[Block | None],
    results: multiprocessing.Queue[_Result | DrillgenError],
    load: Callable[[], Tools],
    query: Query,
    count: int,
) -> None:
    """The life of a worker. An error goes back as it is."""
    try:
        tools = load()
        while (block := tasks.get()) is not None:
            results.put(_search(block, tools, query, count))
    except DrillgenError as error:
        results.put(error)
    except OSError as error:
        results.put(InputError(f"a file can't be read ({error.strerror})", "check the files"))
    except KeyboardInterrupt:
        pass


def _run_spread(
    blocks: Sequence[Block], load: Callable[[], Tools], query: Query, count: int, workers: int
) -> Iterator[_Result]:
    # Spawned, not forked: the same on every system, and safe beside threads.
    context = multiprocessing.get_context("spawn")
    tasks: multiprocessing.Queue[Block | None] = context.Queue()
    results: multiprocessing.Queue[_Result | DrillgenError] = context.Queue()
    processes = [
        context.Process(target=_work, args=(tasks, results, load, query, count), daemon=True)
        for _ in range(workers)
    ]
    for process in processes:
        process.start()
    try:
        for block in blocks:
            tasks.put(block)
        for _ in processes:
            tasks.put(None)
        for _ in blocks:
            yield _receive(results, processes)
        for process in processes:
            process.join()
    finally:
        for process in processes:
            process.terminate()
        tasks.cancel_join_thread()


def _receive(
    results: multiprocessing.Queue[_Result | DrillgenError], processes: Sequence[BaseProcess]
) -> _Result:
    while True:
        try:
            result = results.get(timeout=1)
        except queue.Empty:
            # A worker that was killed sends nothing; without this we would wait for ever.
            if any(process.exitcode for process in processes):
                raise InputError(
                    "a worker process ended too early", "try again with fewer workers"
                ) from None
            continue
        if isinstance(result, DrillgenError):
            raise result
        return result
