"""A booklet that climbs the trade's hierarchy around chosen vowels.

Syllable, word, phrase, sentence, passage, conversation (common practice): the
lists, passages and prompts come from the corpora. What is chosen follows from
SHA-256 (FIPS 180-4) of the seed and the text, so it is the same everywhere.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final, TypeVar

from drillgen.core.accents import DEFAULT_ACCENT, Accent, load_accent
from drillgen.core.document import (
    Answer,
    AnswerKind,
    Column,
    Document,
    Face,
    Keep,
    Paragraph,
    Section,
    Span,
    Spans,
    Table,
    prose,
)
from drillgen.core.errors import OptionError
from drillgen.core.formants import bark_distance
from drillgen.core.options import SHORT_UNITS, DrillOptions, Unit, list_units
from drillgen.core.phones import SET_VOWELS
from drillgen.core.printable import clean
from drillgen.core.values import Drill, Passage, Run, Version, Worksheet
from drillgen.core.wording import Wording, choose_wording, is_neutral
from drillgen.corpus.reader import (
    LIST_UNITS,
    ListItem,
    has_set_vowel,
    load_passages,
    load_prompts,
    load_word_list,
    read_set,
)
from drillgen.sheets.content import (
    delivery_texts,
    describe_vowel,
    group_words,
    iter_paragraphs,
    spans_of,
)
from drillgen.sheets.parts import (
    BODY,
    KEEP_ROWS,
    Gathered,
    make_document,
    make_ticks,
    paragraphs_of,
    steps_section,
    version_sections,
)
from drillgen.sheets.prompts import PromptItem, make_prompt_item, prompt_section
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.speech.pronounce.overrides import Override, Overrides
from drillgen.speech.swap.targets import parse_target

MAX_CONTRASTS: Final = 6
MAX_COUNT: Final = 24

RICH_PASSAGES: Final = 3
"""The seed draws from the passages that have most of the contrasts."""

RICH_PROMPTS: Final = 16
PROMPTS: Final = 2

_SHARES: Final = MappingProxyType({Unit.PHRASE: 0.75, Unit.SENTENCE: 0.5})
"""Phrases and sentences take longer than words, so there are fewer."""

T_ = TypeVar("T_")


@dataclass(frozen=True, slots=True)
class LadderOptions:
    """What a ladder holds."""

    first: Unit = Unit.WORD
    last: Unit = Unit.PASSAGE
    contrasts: tuple[str, ...] = ()
    """Lexical sets of Wells (1982), in any case; empty: `far_sets` of the target."""

    count: int = 8
    """Words and syllables in a list; phrases are three quarters of it, sentences half."""

    seed: int = 1

    def __post_init__(self) -> None:
        list_units(self.first, self.last)
        if not 1 <= self.count <= MAX_COUNT:
            raise OptionError(f"count must be 1 to {MAX_COUNT}, not {self.count}")


@dataclass(frozen=True, slots=True)
class LadderGroup:
    """A list of items with one vowel, or a passage."""

    lexical_set: str
    """Upper case; empty for a passage."""

    number: int
    """Of the list within its unit, from 1; 0 for a passage."""

    drill: Drill
    """Each item is a paragraph."""

    hints: tuple[str, ...] = ()
    """For each item a word that begins with it, or an empty string."""


@dataclass(frozen=True, slots=True)
class LadderUnit:
    """A step of the hierarchy."""

    unit: Unit
    groups: tuple[LadderGroup, ...]
    prompts: tuple[PromptItem, ...] = ()
    """In a conversation, which has no groups."""

    @property
    def drills(self) -> tuple[Drill, ...]:
        """All drills of the unit."""
        return (*(group.drill for group in self.groups), *(item.drill for item in self.prompts))


@dataclass(frozen=True, slots=True)
class LadderSheet:
    """All that the booklet shows."""

    head: Worksheet
    """Title, pitch, repetitions and wording; its drills are not read."""

    target: str
    """ARPAbet symbol."""

    contrasts: tuple[str, ...]
    """Lexical sets."""

    units: tuple[LadderUnit, ...]

    accent: str = DEFAULT_ACCENT
    """Name of its profile."""


def far_sets(target: str, accent: Accent | None = None, count: int = 2) -> tuple[str, ...]:
    """The monophthongs that lie farthest from a target, the nearer first.

    `target` is a vowel of the accent. Distances are those of `drillgen.core.formants`.
    Diphthongs are left out: they are on the move.

    >>> far_sets("IY")
    ('GOOSE', 'THOUGHT')
    """
    accent = accent or load_accent()
    symbols = sorted(
        (symbol for symbol in accent.targets if not accent.vowels[symbol].diphthong),
        key=lambda symbol: (bark_distance(symbol, target, accent), symbol),
    )
    return tuple(accent.vowels[symbol].lexical_set for symbol in symbols[-count:])


def read_contrasts(names: Iterable[str], options: DrillOptions) -> tuple[str, ...]:
    """Lexical sets as they were asked for, each once. OptionError for an unknown one."""
    chosen = tuple(dict.fromkeys(map(read_set, names)))
    if len(chosen) > MAX_CONTRASTS:
        raise OptionError(
            f"{len(chosen)} contrasts are too many", f"choose {MAX_CONTRASTS} at most"
        )
    accent = load_accent(options.accent)
    return chosen or far_sets(parse_target(options.target, accent).symbol, accent)


def make_ladder(
    choice: LadderOptions, head: Worksheet, options: DrillOptions, engine: Engine
) -> LadderSheet:
    """The booklet. The engine must have the accent of `options` (ValueError).

    A set without a list for a unit is left out there; OptionError if a unit
    would be empty. In a discreet booklet no text has a telling word.
    """
    target = parse_target(options.target, engine.accent).symbol
    contrasts = read_contrasts(choice.contrasts, options)
    maker = _Maker(choice, contrasts, replace(options, target=target), engine, head.discreet)
    made = tuple(map(maker.make_unit, list_units(choice.first, choice.last)))
    return LadderSheet(head, target, contrasts, made, engine.accent.name)


@dataclass(frozen=True, slots=True)
class _Maker:
    """Makes the units of one booklet."""

    choice: LadderOptions
    contrasts: tuple[str, ...]
    options: DrillOptions
    engine: Engine
    discreet: bool

    def make_unit(self, unit: Unit) -> LadderUnit:
        if unit is Unit.PASSAGE:
            return LadderUnit(unit, (self._passage(),))
        if unit is Unit.CONVERSATION:
            return self._conversation()
        groups = tuple(
            group
            for number, name in enumerate(self.contrasts, 1)
            if (group := self._list(unit, name, number)) is not None
        )
        if not groups:
            raise OptionError(
                f"there are no {unit}s for {', '.join(self.contrasts)}",
                "begin at a larger unit or choose another contrast",
            )
        return LadderUnit(unit, groups)

    def _list(self, unit: Unit, name: str, number: int) -> LadderGroup | None:
        assert unit in LIST_UNITS
        items = [i for i in load_word_list(name).items[unit] if self._may_show(i.text)]
        if not items:
            return None
        wanted = max(1, round(self.choice.count * _SHARES.get(unit, 1.0)))
        drawn = set(self._draw(items, wanted, f"{unit}/{name}", lambda item: item.text))
        chosen = [item for item in items if item in drawn]
        options = replace(self.options, rungs=0) if unit in SHORT_UNITS else self.options
        engine = self._engine_for(chosen) if unit is Unit.SYLLABLE else self.engine
        drill = make_drill(
            Passage("\n\n".join(item.text for item in chosen)), options, engine=engine
        )
        return LadderGroup(name, number, drill, tuple(item.hint for item in chosen))

    def _engine_for(self, items: Sequence[ListItem]) -> Engine:
        """The engine with the syllables of a list, which no dictionary has."""
        entries = {item.text: Override(item.text, item.phones, 0) for item in items}
        # "too" is a syllable here, not a weak word.
        return self.engine.adapt(
            overrides=Overrides(MappingProxyType(entries)),
            accent=self.options.accent,
            function_words=frozenset(),
        )

    def _passage(self) -> LadderGroup:
        passages = [p for p in load_passages() if self._may_show(f"{p.title} {p.text}")]
        rich = sorted(passages, key=lambda p: (-self._richness(p.text), p.key))[:RICH_PASSAGES]
        (chosen,) = self._draw(rich, 1, "passage", lambda p: p.key)
        drill = make_drill(Passage(chosen.text, chosen.title), self.options, engine=self.engine)
        return LadderGroup("", 0, drill)

    def _conversation(self) -> LadderUnit:
        prompts = load_prompts(locale=self.options.spoken_locale)
        rich = sorted(prompts, key=lambda p: (-self._richness(p.answer), p.key))[:RICH_PROMPTS]
        chosen = sorted(
            self._draw(rich, PROMPTS, "conversation", lambda p: p.key),
            key=lambda p: (p.step, p.key),
        )
        items = tuple(make_prompt_item(p, self.options, self.engine) for p in chosen)
        return LadderUnit(Unit.CONVERSATION, (), items)

    def _may_show(self, text: str) -> bool:
        return not self.discreet or is_neutral(text)

    def _richness(self, text: str) -> float:
        """Words with a vowel of the contrasts as a share of all words."""
        words = [
            word for _, reading in self.engine.pronounce(text) for word in reading if word.phones
        ]
        hits = sum(any(has_set_vowel(w.listed[0], name) for name in self.contrasts) for w in words)
        return hits / len(words) if words else 0.0

    def _draw(
        self, items: Sequence[T_], count: int, salt: str, key: Callable[[T_], str]
    ) -> list[T_]:
        def rank(item: T_) -> bytes:
            return hashlib.sha256(f"{self.choice.seed}\0{salt}\0{key(item)}".encode()).digest()

        return sorted(items, key=rank)[:count]


# What it says


def lay_out_ladder(sheet: LadderSheet) -> Document:
    """The booklet as a reader sees it: short units as tables, longer ones as versions."""
    head = sheet.head
    wording = choose_wording(head.discreet)
    words = wording.ladder
    first, *_, last = (words.units[unit.unit].name for unit in (*sheet.units, *sheet.units[-1:]))
    title = (words.title if len(sheet.units) > 1 else words.single).format(
        first=first, last=last, unit=first
    )
    *others, final = [describe_set(name, sheet.accent) for name in sheet.contrasts]
    about = (words.about if len(sheet.units) > 1 else words.about_single).format(
        contrasts=wording.join.join(filter(None, (", ".join(others), final))),
        target=describe_vowel(sheet.target, wording, sheet.accent).replace(" ", "\u00a0"),
    )
    deliveries = delivery_texts(head, wording, sheet.target, sheet.accent)
    if any(unit.prompts for unit in sheet.units):
        deliveries.append((wording.prompts.step_name, wording.prompts.step_text))
    gathered = Gathered(head, wording)
    sections = []
    for place, unit in enumerate(sheet.units, 1):
        sections.append(_unit_section(unit, place, head, wording))
        for group in unit.groups:
            gathered.add(group.drill, title=_name_group(unit.unit, group, wording))
        for number, item in enumerate(unit.prompts, 1):
            gathered.add(item.drill, title=wording.prompts.prompt.format(number=number))
    steps = steps_section(deliveries, wording.hints, wording)
    return make_document(
        clean(head.title) or title.capitalize(),
        wording,
        (Paragraph(prose(about)), steps, *sections, *gathered.sections()),
        pitch=head.pitch,
    )


def describe_set(name: str, accent: str = DEFAULT_ACCENT) -> str:
    """A lexical set with its IPA in an accent, where it names a vowel or has another one
    than in the dictionary's accent.

    >>> describe_set("GOOSE"), describe_set("NEAR"), describe_set("FOOT", "scottish")
    ('/u/ (GOOSE)', 'NEAR', '/ʉ/ (FOOT)')
    """
    profile = load_accent(accent)
    vowel = profile.vowels[profile.sets[name]]
    named = vowel.lexical_set == name or profile.sets[name] != SET_VOWELS[name]
    return f"/{vowel.ipa}/ ({name})" if named else name


def _unit_section(unit: LadderUnit, place: int, head: Worksheet, wording: Wording) -> Section:
    words = wording.ladder
    title = words.units[unit.unit].title
    syllables = [words.syllables] if unit.unit is Unit.SYLLABLE else []
    larger = list_units(unit.unit, Unit.CONVERSATION)[1:]
    advance = words.advance.format(next=words.units[larger[0]].name) if larger else words.finish
    ready = make_ticks(words.ready, 2, wording)
    return Section(
        f"{place}. {title}",
        (
            *(_group_section(unit.unit, group, head, wording) for group in unit.groups),
            *(
                prompt_section(item, number, head, wording, level=3)
                for number, item in enumerate(unit.prompts, 1)
            ),
            Paragraph(prose(advance), (ready,), framed=True),
        ),
        note=" ".join([*_explain_boxes(unit, wording), *syllables]),
        chapter=True,
        rank=BODY,
    )


def _explain_boxes(unit: LadderUnit, wording: Wording) -> Iterator[str]:
    """Which column each numbered box is for; nothing where there are no tables."""
    drills = [group.drill for group in unit.groups if _fits_table(unit.unit, group.drill)]
    if not drills:
        return
    words = wording.ladder
    _, marked, partial, full = words.columns
    swapped = wording.join.join([full, *([partial] if len(drills[0].versions) > 2 else [])])
    yield words.tick
    for number, (said, columns) in enumerate(
        zip(wording.deliveries, (full, swapped, marked), strict=True), 1
    ):
        yield words.boxes.format(number=number, name=said.name, columns=columns)


def _group_section(unit: Unit, group: LadderGroup, head: Worksheet, wording: Wording) -> Section:
    title = _name_group(unit, group, wording)
    drill = group.drill
    if not _fits_table(unit, drill):
        versions = version_sections(drill, head, wording, level=4, compact=True)
        return Section(title, (*paragraphs_of(drill), *versions), 3, compact=True)
    table = _list_items(group, wording)
    keep = Keep.WHOLE if len(table.rows) <= KEEP_ROWS else Keep.NONE
    return Section(title, (table,), 3, keep=keep)


def _fits_table(unit: Unit, drill: Drill) -> bool:
    """Whether items are short and versions few enough for columns."""
    return unit in SHORT_UNITS or (unit is Unit.PHRASE and len(drill.versions) <= 3)


def _name_group(unit: Unit, group: LadderGroup, wording: Wording) -> str:
    if not group.lexical_set:
        return clean(group.drill.passage.title)
    title = wording.ladder.units[unit].title
    return wording.ladder.group.format(
        unit=title, vowel=describe_set(group.lexical_set, group.drill.accent), number=group.number
    )


def _list_items(group: LadderGroup, wording: Wording) -> Table:
    """An item a row: its versions side by side, the original first; boxes behind."""
    drill = group.drill
    original, marked, partial, full = wording.ladder.columns
    several = len(drill.versions) > 2
    # With one version more, the original takes less room: it is only looked at.
    columns = (
        Column(original, 0.82 if several else 1),
        *(Column(name, 1, aloud=True) for name in (marked, *([partial] if several else []), full)),
    )
    versions = (drill.versions[-1], *drill.versions[1:-1], drill.versions[0])
    items = list(iter_paragraphs(drill))
    hints = group.hints or ("",) * len(items)
    originals = (
        (*prose(item), *([Span(f" ({hint})", face=Face.SOFT)] if hint else []))
        for item, hint in zip(items, hints, strict=True)
    )
    cells = (list(_iter_items(drill, version)) for version in versions)
    answers = tuple(
        Answer(str(number), AnswerKind.TICK, wording.ladder.box.format(name=said.name), share=0)
        for number, said in enumerate(wording.deliveries, 1)
    )
    return Table(columns, tuple(zip(originals, *cells, strict=True)), answers)


def _iter_items(drill: Drill, version: Version) -> Iterator[Spans]:
    """What is printed of each paragraph."""
    held: list[Run] = []
    for row, (phrase, line) in enumerate(zip(drill.phrases, version.lines, strict=True)):
        if row and phrase.paragraph != drill.phrases[row - 1].paragraph:
            yield spans_of(held, version.kind)
            held = []
        for word in group_words(phrase, line):
            if held:
                held.append(Run(" "))
            held.extend(word.runs)
    if held:
        yield spans_of(held, version.kind)
