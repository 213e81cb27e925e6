"""Text in, Drill out. `STEPS` is the one place that knows the order of the steps."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain, compress, count, cycle, islice, repeat, zip_longest
from operator import attrgetter
from typing import Final, NamedTuple

from drillgen.core.accents import DEFAULT_ACCENT, Accent, load_accent
from drillgen.core.collector import CollectorPause
from drillgen.core.options import BREATH, DrillOptions, Locale, Strategy, Watch
from drillgen.core.values import (
    Drill,
    Flow,
    Grade,
    KeyEntry,
    Line,
    Passage,
    Phones,
    Phrase,
    Pronunciation,
    Respelling,
    ReviewItem,
    Run,
    Token,
    Version,
    VersionKind,
)
from drillgen.speech.align.letters import load_costs, locate_letters
from drillgen.speech.align.mark import mark_vowels
from drillgen.speech.doubts import list_doubts, note_list
from drillgen.speech.pronounce.engine import Knowledge, Pronouncer, Reading
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import Override, Overrides
from drillgen.speech.pronounce.places import find_places
from drillgen.speech.prosody.links import links
from drillgen.speech.prosody.reader import Prosody, Said
from drillgen.speech.respell.key import fit_key, key_entries
from drillgen.speech.respell.writer import write_runs
from drillgen.speech.swap.ladder import (
    choose_vowels,
    far_vowels,
    level_vowels,
    load_function_words,
    load_set_shares,
    load_vowel_shares,
    nearness_levels,
    rung_threshold,
    share_vowels,
)
from drillgen.speech.swap.targets import parse_target, swap_vowels
from drillgen.speech.text.clauses import split_clauses
from drillgen.speech.text.paragraphs import iter_paragraphs
from drillgen.speech.text.tokens import Tokenizer

_NO_OVERRIDES: Final = Overrides()


_MAX_CELLS: Final = 50_000
"""Cells to keep, all versions together, before starting afresh (about 60 MB)."""

_FLOWS: Final = (Flow(), Flow(linked=True), Flow(weak=True), Flow(weak=True, linked=True))
_PLAIN: Final = _FLOWS[0]


_Grades = tuple[Grade, ...]
"""The grade of each spoken word of a token."""


class _Cell(NamedTuple):
    """What one reading becomes in one version; made once per word form."""

    respelling: Respelling
    changed: tuple[str, ...]
    """ARPAbet symbols of the vowels that were replaced."""

    vowels: int
    """Vowels that the full swap replaces."""


class _Place(NamedTuple):
    """What tells one cell from another in the same version."""

    text: str
    sound: int
    grades: _Grades
    ordinal: int
    """0 or 1, alternating from one token that is said to the next, where that matters."""


Chooser = Callable[[Pronunciation, Grade, int], tuple[int, ...]]
"""The vowels of a word that swap, by how strongly it is said, and how many tokens, 0 or more, were
said before (even or odd is what counts)."""

_Cells = dict[tuple[object, ...], _Cell]
_RESPELLING: Final = attrgetter("respelling")
_TEXT: Final = attrgetter("text")
_NEW_PLACE: Final = tuple.__new__


class _Shared:
    """What every engine of one installation shares."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge: Final = knowledge
        self.tokenizers: Final = {locale: Tokenizer(locale) for locale in Locale}
        self.function_words: Final = load_function_words()
        self.vowel_shares: Final = load_vowel_shares()
        self.set_shares: Final = load_set_shares()
        self.align_costs: Final = load_costs()

    @cached_property
    def prosody(self) -> Prosody:
        """Loaded when the first text is to be said."""
        return Prosody.load()


class Engine:
    """Everything that is loaded once and used for many texts.

    Holds the dictionary, the models and what has been worked out for word
    forms so far, for one accent and one set of overrides. What it answers
    depends on the text alone, never on what it read before; several threads
    may use it at once.

    >>> engine = Engine.load()
    >>> [make_drill(text, engine=engine).full.text for text in ("Two boats.", "Bad goats.")]
    ['tee beets.', 'beed gheets.']
    """

    def __init__(
        self,
        shared: _Shared,
        *,
        overrides: Overrides = _NO_OVERRIDES,
        accent: Accent,
        function_words: frozenset[str] | None = None,
    ) -> None:
        self._shared: Final = shared
        self.accent: Final = accent
        self.key: Final = fit_key(accent)
        self.align_costs: Final = shared.align_costs
        self.function_words: Final = (
            shared.function_words if function_words is None else function_words
        )
        self.pronouncer: Final = Pronouncer(shared.knowledge, overrides, accent, locate_letters)
        self._shares: Final = share_vowels(accent, shared.vowel_shares, shared.set_shares)
        self._cells: dict[tuple[object, ...], _Cells] = {}
        self._far: Final[dict[str, frozenset[str]]] = {}

    @classmethod
    def load(
        cls,
        *,
        lexicon: Lexicon | None = None,
        overrides: Overrides = _NO_OVERRIDES,
        accent: str = DEFAULT_ACCENT,
    ) -> Engine:
        """Read the dictionary and the models of the installation (about 0.1 s)."""
        shared = _Shared(Knowledge.load(lexicon))
        return cls(shared, overrides=overrides, accent=load_accent(accent))

    def adapt(
        self,
        *,
        overrides: Overrides = _NO_OVERRIDES,
        accent: str = DEFAULT_ACCENT,
        function_words: frozenset[str] | None = None,
    ) -> Engine:
        """A fresh engine with other choices that shares what was loaded, and what will be.

        `function_words` stand for those of the installation.
        """
        return Engine(
            self._shared,
            overrides=overrides,
            accent=load_accent(accent),
            function_words=function_words,
        )

    @property
    def tokenizer(self) -> Tokenizer:
        """The tokenizer of the locale that goes with the accent."""
        return self.tokenizer_for(None)

    def tokenizer_for(self, locale: Locale | None) -> Tokenizer:
        """The tokenizer of a locale; None: of the one that goes with the accent."""
        return self._shared.tokenizers[locale or Locale(self.accent.locale)]

    def pronounce(self, text: str) -> tuple[tuple[Token, Reading], ...]:
        """The tokens of a text, each with the pronunciations of its spoken words."""
        with CollectorPause():
            tokens = self.tokenizer.tokenize(text)
            return tuple(zip(tokens, self.pronouncer.pronounce(tokens), strict=True))

    def read_prosody(self, tokens: tuple[Token, ...], breath: int = BREATH) -> Said:
        """Phrases, stress and weak words of the tokens of a text."""
        return self._shared.prosody.read(tokens, split_clauses(tokens), breath)

    def pronounce_phrases(self, text: str) -> tuple[tuple[Reading, ...], ...]:
        """Per breath phrase and token, the pronunciations of the spoken words."""
        tokens = self.tokenizer.tokenize(text)
        return _by_phrase(self.pronouncer.pronounce(tokens), self.read_prosody(tokens).phrases)

    def cells_for(self, *key: object) -> _Cells:
        """The store of cells that were made with the same choices."""
        if sum(map(len, tuple(self._cells.values()))) > _MAX_CELLS:
            self.forget_cells()
        return self._cells.setdefault(key, {})

    def choose_swaps(self, target: str, options: DrillOptions, rung: int) -> Chooser:
        """What swaps at a rung of the ladder of `options`; their own target is not read."""
        nearness, threshold = self.nearness(target), rung_threshold(rung, options.rungs)

        def choose(word: Pronunciation, grade: Grade, ordinal: int) -> tuple[int, ...]:
            levels = level_vowels(
                word.phones,
                nearness,
                options.strategy,
                grade=grade,
                is_function=word.word in self.function_words,
                ordinal=ordinal,
            )
            return choose_vowels(word.phones, levels, threshold)

        return choose

    def nearness(self, target: str) -> dict[str, float]:
        """Level of each vowel by its distance from the target."""
        return dict(nearness_levels(target, self._shares, self.accent))

    def far_vowels(self, target: str) -> frozenset[str]:
        """The vowels to watch in the original words."""
        if target not in self._far:
            self._far[target] = far_vowels(self.nearness(target))
        return self._far[target]

    def forget_cells(self) -> None:
        """Drop all cells; they are made again when needed. Who is at work keeps his store."""
        self._cells = {}


@dataclass(frozen=True, slots=True)
class _Draft:
    """What the steps have made so far."""

    passage: Passage
    options: DrillOptions
    tokens: tuple[Token, ...] = ()
    phrases: tuple[Phrase, ...] = ()
    weak: tuple[tuple[bool, ...], ...] = ()
    """Per phrase and token, whether it is a word that is said in its weak form."""

    readings: tuple[tuple[Reading, ...], ...] = ()
    sounds: tuple[int, ...] = ()
    """Per token, the number of how it is said."""

    flow: tuple[tuple[Flow, ...], ...] = ()
    versions: tuple[Version, ...] = ()
    written: tuple[Respelling, ...] = ()
    """Every respelling of the versions; some may be equal."""

    gone: tuple[Override, ...] = ()
    """Entries of the word list for places that are no longer in the text."""

    review: tuple[ReviewItem, ...] = ()
    notes: tuple[str, ...] = ()
    key: tuple[KeyEntry, ...] = ()


def _tokenize(draft: _Draft, engine: Engine) -> _Draft:
    return replace(
        draft, tokens=engine.tokenizer_for(draft.options.locale).tokenize(draft.passage.text)
    )


def _phrase(draft: _Draft, engine: Engine) -> _Draft:
    said = engine.read_prosody(draft.tokens, draft.options.breath)
    return replace(draft, phrases=said.phrases, weak=said.weak)


def _pronounce(draft: _Draft, engine: Engine) -> _Draft:
    placed = engine.pronouncer.overrides.placed
    fixed, gone = find_places(draft.passage, draft.tokens, placed) if placed else (None, ())
    said = engine.pronouncer.say(draft.tokens, fixed)
    return replace(
        draft,
        readings=_by_phrase((s.reading for s in said), draft.phrases),
        sounds=tuple(s.sound for s in said),
        gone=tuple(gone),
    )


def _by_phrase(
    readings: Iterable[Reading], phrases: Iterable[Phrase]
) -> tuple[tuple[Reading, ...], ...]:
    flat = iter(readings)
    return tuple(tuple(islice(flat, len(phrase.tokens))) for phrase in phrases)


def _connect(draft: _Draft, _: Engine) -> _Draft:
    return replace(draft, flow=tuple(map(_connect_phrase, draft.readings, draft.weak)))


def _connect_phrase(row: tuple[Reading, ...], weak: tuple[bool, ...]) -> tuple[Flow, ...]:
    """Flow of each token of a phrase. Only the last word of a token leads to the next."""
    flow = [_PLAIN] * len(row)
    said = [i for i, reading in enumerate(row) if reading]
    for i, following in zip_longest(said, said[1:], fillvalue=-1):
        linked = following >= 0 and links(row[i][-1].phones, row[following][0].phones)
        flow[i] = _FLOWS[2 * weak[i] + linked]
    return tuple(flow)


def _grade(draft: _Draft, engine: Engine) -> _Draft:
    """Full swap, then the rungs from most to fewest swapped vowels, then marked."""
    rungs = draft.options.rungs
    row = _list_places(draft)
    alternate = draft.options.strategy is Strategy.ALTERNATE
    turns = _list_places(draft, alternate=True) if alternate else row
    made = [
        _make_full(draft, row, engine),
        *(_make_rung(draft, turns, engine, rung) for rung in range(rungs, 0, -1)),
        _make_marked(draft, row, engine),
    ]
    return replace(
        draft,
        versions=tuple(version for version, _ in made),
        written=tuple(chain.from_iterable(written for _, written in made)),
    )


def _review(draft: _Draft, engine: Engine) -> _Draft:
    partial = any(version.kind is VersionKind.PARTIAL for version in draft.versions)
    said = (word for row in draft.readings for reading in row for word in reading)
    speaker = engine.pronouncer
    return replace(
        draft,
        review=list_doubts(draft.phrases, draft.readings, partial=partial),
        notes=note_list(said, speaker.overrides, speaker.is_homograph, draft.gone),
    )


def _explain(draft: _Draft, engine: Engine) -> _Draft:
    return replace(draft, key=key_entries(draft.written, engine.accent))


STEPS: Final[tuple[tuple[str, Callable[[_Draft, Engine], _Draft]], ...]] = (
    ("tokenize", _tokenize),
    ("phrase and stress", _phrase),
    ("pronounce", _pronounce),
    ("link", _connect),
    ("grade: swap, respell, mark", _grade),
    ("list doubtful words", _review),
    ("choose the key", _explain),
)


def make_drill(
    text: str | Passage,
    options: DrillOptions | None = None,
    *,
    engine: Engine | None = None,
    overrides: Overrides = _NO_OVERRIDES,
) -> Drill:
    """Make the graded versions of a text.

    Loads an engine for the options' accent unless one is given; to make many
    drills, load one and pass it. An engine that is given must have the
    options' accent (ValueError), and brings its own overrides.

    >>> drill = make_drill("Two boats.")
    >>> [cell.text for line in drill.versions[0].lines for cell in line.cells if cell]
    ['tee', 'beets']
    """
    chosen = options or DrillOptions()
    if engine is None:
        engine = Engine.load(overrides=overrides, accent=chosen.accent)
    elif engine.accent.name != chosen.accent:
        raise ValueError(f"the engine is {engine.accent.name}, not {chosen.accent}")
    target = parse_target(chosen.target, engine.accent).symbol
    passage = text if isinstance(text, Passage) else Passage(text)
    draft = _Draft(passage, replace(chosen, target=target))
    with CollectorPause():
        for _, step in STEPS:
            draft = step(draft, engine)
    return Drill(
        passage=passage,
        target=target,
        rhotic=engine.accent.rhotic,
        phrases=draft.phrases,
        readings=draft.readings,
        flow=draft.flow,
        versions=draft.versions,
        review=draft.review,
        key=draft.key,
        accent=engine.accent.name,
        notes=draft.notes,
    )


def iter_drills(
    lines: Iterable[str], options: DrillOptions | None = None, *, engine: Engine | None = None
) -> Iterator[Drill]:
    """Make a long text into one drill per stretch of paragraphs, in flat memory.

    >>> for drill in iter_drills(["Two boats.\\n"]):
    ...     print(drill.full.text.strip())
    tee beets.
    """
    chosen = options or DrillOptions()
    engine = engine or Engine.load(accent=chosen.accent)
    for chunk in iter_paragraphs(lines):
        if chunk.strip():
            yield make_drill(Passage(chunk), chosen, engine=engine)


# Versions


def _make_full(draft: _Draft, row: _Row, engine: Engine) -> tuple[Version, tuple[Respelling, ...]]:
    target = draft.options.target
    options = draft.options
    cells = engine.cells_for(VersionKind.FULL, target, options.watch)
    written = engine.cells_for("written", target)
    kept = engine.cells_for("kept", target, options.watch)

    def make(place: _Place, reading: Reading) -> _Cell:
        chosen = tuple([_find_others(word.phones, target) for word in reading])
        if any(chosen) or not _is_anchor(reading, target):
            return _write(place.sound, place.grades, reading, chosen, target, engine, written)
        if target == "IY" and len(reading) == 1 and _hides_fleece(place.text):
            return _respell_word(reading[0], (), place.grades[0], target, engine, known=False)
        return _keep(_calm(place, reading), reading, options, engine, kept)

    return _fill(draft, row, cells, make, Version(VersionKind.FULL, (), 0.0))


def _make_rung(
    draft: _Draft, row: _Row, engine: Engine, rung: int
) -> tuple[Version, tuple[Respelling, ...]]:
    options = draft.options
    target = options.target
    threshold = rung_threshold(rung, options.rungs)
    choices = (target, options.watch, options.strategy, threshold)
    cells = engine.cells_for(VersionKind.PARTIAL, *choices)
    written = engine.cells_for("written", target)
    kept = engine.cells_for("kept", target, options.watch)
    choose = engine.choose_swaps(target, options, rung)

    def make(place: _Place, reading: Reading) -> _Cell:
        swapped = [
            choose(word, grade, place.ordinal)
            for word, grade in zip(reading, place.grades, strict=True)
        ]
        if any(swapped):
            chosen = tuple(swapped)
            return _write(place.sound, place.grades, reading, chosen, target, engine, written)
        # A word that keeps all its vowels keeps its spelling: it reads best so.
        return _keep(_calm(place, reading), reading, options, engine, kept)

    version = Version(VersionKind.PARTIAL, (), 0.0, options.strategy.value, rung)
    return _fill(draft, row, cells, make, version)


def _make_marked(
    draft: _Draft, row: _Row, engine: Engine
) -> tuple[Version, tuple[Respelling, ...]]:
    options = draft.options
    kept = engine.cells_for("kept", options.target, options.watch)

    def make(place: _Place, reading: Reading) -> _Cell:
        return _keep(place, reading, options, engine, kept)

    return _fill(draft, row, kept, make, Version(VersionKind.MARKED, (), 0.0))


def _calm(place: _Place, reading: Reading) -> _Place:
    """A word in capitals among respelled ones, which are not: it would look stressed."""
    shouted = len(place.text) > 1 and len(reading) == 1 and place.text.isupper()
    return place._replace(text=place.text.lower()) if shouted else place


def _keep(
    place: _Place, reading: Reading, options: DrillOptions, engine: Engine, cells: _Cells
) -> _Cell:
    """A word in its own spelling, its vowel letters marked; made once for all versions."""
    key = place._replace(ordinal=0) if place.ordinal else place
    found = cells.get(key)
    if found is None:
        phones = [word.phones for word in reading]
        watch = engine.far_vowels(options.target) if options.watch is Watch.FAR else None
        marked = mark_vowels(place.text, phones, engine.align_costs, place.grades, watch)
        found = cells[key] = _Cell(marked, (), _count_vowels(reading, options.target))
    return found


def _write(
    sound: int,
    grades: _Grades,
    reading: Reading,
    swapped: tuple[tuple[int, ...], ...],
    target: str,
    engine: Engine,
    cells: _Cells,
) -> _Cell:
    """The words of a token respelled, these vowels swapped; made once for all versions. A single
    word is respelled as a beat, and other grades are set afterwards."""
    key = sound, swapped, grades
    found = cells.get(key)
    if found is None:
        if len(reading) > 1:
            parts = []
            for word, chosen, grade in zip(reading, swapped, grades, strict=True):
                # The names of digits and letters come again in other tokens.
                part = word.word, word.phones, chosen, grade
                if part not in cells:
                    cells[part] = _respell_word(word, chosen, grade, target, engine)
                parts.append(cells[part])
            found = _join(parts, swapped)
        elif grades != _BEAT:
            beat = _write(sound, _BEAT, reading, swapped, target, engine, cells)
            found = _regrade(beat, grades[0])
        else:
            found = _respell_word(reading[0], swapped[0], grades[0], target, engine)
        cells[key] = found
    return found


def _join(cells: list[_Cell], swapped: tuple[tuple[int, ...], ...]) -> _Cell:
    """Words with spaces between them, in which these vowels are swapped."""
    runs = chain.from_iterable((_SPACE, *cell.respelling.runs) for cell in cells)
    changed = tuple(chain.from_iterable(cell.changed for cell in cells))
    respelling = Respelling(tuple(runs)[1:], replaced=swapped)
    return _Cell(respelling, changed, sum(cell.vowels for cell in cells))


_SPACE: Final = Run(" ")
_BEAT: Final = (Grade.BEAT,)


def _regrade(cell: _Cell, grade: Grade) -> _Cell:
    """A word that was respelled as a beat, in another grade."""
    runs = tuple(
        [
            Run(run.text, run.vowel, run.swapped, grade, run.voiced) if run.stressed else run
            for run in cell.respelling.runs
        ]
    )
    respelling = Respelling(runs, replaced=cell.respelling.replaced)
    return _Cell(respelling, cell.changed, cell.vowels)


_TELLING: Final = re.compile(
    r"(?!.*igh)(?>[b-df-hj-np-tv-xz']|e[aeio]|ie|e?y(?!\w)|e)++", re.IGNORECASE
)
"""Spellings of FLEECE that anybody reads so."""


def _hides_fleece(text: str) -> bool:
    """Whether a stranger can't read FLEECE from a name: Rhys, Li, Leigh, but not Keith or Eve.
    Common words, which have no capital, are known by heart."""
    return text[:1].isupper() and _TELLING.fullmatch(text) is None


def _is_anchor(reading: Reading, target: str) -> bool:
    """Whether a reader of the ordinary spelling says the target in each vowel: not in
    "the" or "been", which are also said otherwise."""
    return all(
        phone.stress is None or phone.symbol == target
        for word in reading
        for phones in (word.phones, *word.alternatives)
        for phone in phones
    )


class _Row(NamedTuple):
    """The tokens of a text that are said, equal ones as one place."""

    distinct: dict[_Place, Reading]
    order: list[int]
    """Per token of the text, the number of its place; -1 where nothing is said."""

    times: list[int]
    """Per place, how often it comes."""


def _list_places(draft: _Draft, *, alternate: bool = False) -> _Row:
    """Equal sounds of equal texts in equal grades are one place; `alternate`: but not where
    one is the next token after the other."""
    indexes = list(compress(count(), draft.sounds))
    texts = map(_TEXT, map(draft.tokens.__getitem__, indexes))
    sounds = filter(None, draft.sounds)
    grades = compress(chain.from_iterable(p.grades for p in draft.phrases), draft.sounds)
    ordinals = cycle((0, 1)) if alternate else repeat(0)
    rows = zip(texts, sounds, grades, ordinals, strict=False)
    # As fast as the interpreter's own loop: there is one for each token.
    places = list(map(_NEW_PLACE, repeat(_Place), rows))
    readings = filter(None, chain.from_iterable(draft.readings))
    distinct = dict(zip(places, readings, strict=True))
    numbers = dict(zip(distinct, count(), strict=False))
    order = [-1] * len(draft.tokens)
    for i, place in zip(indexes, places, strict=True):
        order[i] = numbers[place]
    times = Counter(order)
    return _Row(distinct, order, [times[number] for number in numbers.values()])


def _fill(
    draft: _Draft,
    row: _Row,
    cells: _Cells,
    make: Callable[[_Place, Reading], _Cell],
    version: Version,
) -> tuple[Version, tuple[Respelling, ...]]:
    """A version's lines."""
    made = []
    for place, reading in row.distinct.items():
        cell = cells.get(place)
        if cell is None:
            cell = cells[place] = make(place, reading)
        made.append(cell)
    changed: Counter[str] = Counter()
    vowels = 0
    for cell, times in zip(made, row.times, strict=True):
        vowels += times * cell.vowels
        for symbol in cell.changed:
            changed[symbol] += times
    # The number -1 is that of the last one.
    printed = [*map(_RESPELLING, made), None]
    each = map(printed.__getitem__, row.order)
    lines = tuple(Line(tuple(islice(each, len(phrase.tokens)))) for phrase in draft.phrases)
    share = changed.total() / vowels if vowels else 0.0
    symbols = tuple(sorted(changed, key=lambda symbol: (-changed[symbol], symbol)))
    version = replace(version, lines=lines, share=share, changed=symbols)
    return version, tuple({id(cell): cell.respelling for cell in made}.values())


def _respell_word(
    word: Pronunciation,
    chosen: tuple[int, ...],
    grade: Grade,
    target: str,
    engine: Engine,
    *,
    known: bool = True,
) -> _Cell:
    """A word as it is printed; `known`: everybody reads its own spelling right."""
    changed: tuple[str, ...] = ()
    # Of "full-time" or "2003" the parts that a rung leaves alone are read best as they are.
    others = _find_others(word.phones, target)
    stays = known and not chosen and len(word.word) > 1 and word.word.isalpha()
    if not (stays and (others or _is_anchor((word,), target))):
        swap = swap_vowels(word.phones, target, chosen)
        changed = tuple([swap.before[i].symbol for i in swap.changed])
        runs = write_runs(swap, grade, engine.key, word=word.word)
    else:
        runs = mark_vowels(word.word, [word.phones], engine.align_costs, [grade]).runs
    respelling = Respelling(runs, replaced=(chosen,))
    return _Cell(respelling, changed, len(others))


def _count_vowels(reading: Reading, target: str) -> int:
    """Vowels that the full swap replaces."""
    return sum([len(_find_others(word.phones, target)) for word in reading])


def _find_others(phones: Phones, target: str) -> tuple[int, ...]:
    """Where the vowels are that the full swap replaces."""
    return tuple([i for i, p in enumerate(phones) if p.stress is not None and p.symbol != target])
