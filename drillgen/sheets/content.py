"""From a drill to what is printed of it: words, sentences, labels, marks."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import chain, count, groupby, pairwise
from typing import Final, NamedTuple

from msgspec.structs import replace

from drillgen.core.accents import DEFAULT_ACCENT, load_accent
from drillgen.core.document import LINK, WEAK, Face, Sentence, Span, Spans, Vowel, text_of
from drillgen.core.document import Word as Printed
from drillgen.core.phones import vowel_indexes
from drillgen.core.printable import clean, squeeze
from drillgen.core.syllables import to_ipa
from drillgen.core.values import (
    Boundary,
    Delivery,
    Drill,
    Flow,
    Grade,
    Line,
    Phrase,
    Pitch,
    Pronunciation,
    Respelling,
    Run,
    Token,
    Tune,
    Version,
    VersionKind,
    Worksheet,
)
from drillgen.core.wording import DeliveryText, Wording
from drillgen.speech.swap.targets import swap_vowels

BARS: Final = {Boundary.NONE: "¦", Boundary.MINOR: "|", Boundary.MAJOR: "‖"}
ARROWS: Final = {Tune.RISE: "↗", Tune.FALL: "↘", Tune.LEVEL: "→"}

FLOW_SIGNS: Final = frozenset((LINK, WEAK))
"""The marks of connected speech, for the inflected delivery."""

Group = tuple[int, bool, list[list[int]]]
"""A sentence: its number, whether it opens a paragraph, its lines as numbers of phrases."""

_QUOTES: Final = "\"'“”‘’«»"


class Word(NamedTuple):
    """What stands between two spaces, in one version."""

    original: str
    """As it was written, with its punctuation; empty where that would repeat
    what the runs say."""

    runs: tuple[Run, ...]
    ipa: str = ""
    mark: str = ""
    """Bar after the word, where a phrase ends and no line does."""

    tune: str = ""
    """Arrow of the tune, on the word that has the nucleus."""

    weak: bool = False
    """Said lightly in connected speech."""

    linked: bool = False
    """Leads over to the next word."""

    @property
    def text(self) -> str:
        """The printed characters without emphasis."""
        return "".join(run.text for run in self.runs)


def group_words(
    phrase: Phrase,
    line: Line,
    readings: tuple[tuple[Pronunciation, ...], ...] = (),
    *,
    target: str = "",
    accent: str = DEFAULT_ACCENT,
    flow: tuple[Flow, ...] = (),
) -> list[Word]:
    """The words of a phrase in one version, its mark after the last.

    With readings, each word gets the IPA of its full swap to the target; with
    the flow of each token, whether it is weak and whether it is linked.
    """
    words: list[Word] = []
    tokens = phrase.tokens
    cells = line.cells
    nucleus = {i for i, grades in enumerate(phrase.grades) if Grade.NUCLEUS in grades}
    for stretch in list_stretches(phrase):
        original, runs = _join(tokens, cells, stretch)
        ipa = _swapped_ipa(readings, stretch, target, accent) if readings and target else ""
        tune = "" if nucleus.isdisjoint(stretch) else ARROWS[phrase.tune]
        weak = linked = False
        if flow and (said := [i for i in stretch if cells[i] is not None]):
            weak = not tune and all(flow[i].weak for i in said)
            linked = flow[said[-1]].linked and _leads_over(tokens, cells, said[-1])
        words.append(Word(original, runs, ipa, "", tune, weak, linked))
    if words:
        words[-1] = words[-1]._replace(mark=BARS[phrase.boundary])
    return words


def list_stretches(phrase: Phrase) -> list[list[int]]:
    """The words of a phrase, each as the numbers of its tokens: what stands between spaces."""
    texts = [token.text.strip() for token in phrase.tokens]
    stretches = groupby(range(len(texts)), key=lambda i: bool(texts[i]))
    return [list(stretch) for filled, stretch in stretches if filled]


def _leads_over(tokens: tuple[Token, ...], cells: tuple[Respelling | None, ...], i: int) -> bool:
    """Whether only space and quotation marks stand before the next word.

    A link over a comma would say the opposite of the comma; within a stretch
    ("and/or") there is no gap to bridge.
    """
    between = ""
    for after in range(i + 1, len(tokens)):
        if cells[after] is not None:
            bare = "".join(between.split())
            return bare != between and not bare.strip(_QUOTES)
        between += tokens[after].text
    return False


def _join(
    tokens: tuple[Token, ...], cells: tuple[Respelling | None, ...], stretch: list[int]
) -> tuple[str, tuple[Run, ...]]:
    """The original of a word, where it says something else, and its runs."""
    if len(stretch) == 1 and (only := cells[stretch[0]]) is not None:
        text = tokens[stretch[0]].text
        return clean(text) if only.respelled else "", _clean_runs(only.runs)
    runs: list[Run] = []
    changed = False
    for i in stretch:
        cell = cells[i]
        if cell is None:
            runs.append(Run(tokens[i].text))
        else:
            changed |= cell.respelled
            before = cells[i - 1] if i > stretch[0] else None
            if before is not None and (cell.respelled or before.respelled):
                runs.append(Run(" "))  # "G3–D4": what is said between is a word
            runs.extend(cell.runs)
    original = clean("".join(tokens[i].text for i in stretch)) if changed else ""
    return original, _clean_runs(tuple(runs))


def _clean_runs(runs: tuple[Run, ...]) -> tuple[Run, ...]:
    text = "".join([run.text for run in runs])
    if text.isascii() and text.isprintable():
        return runs
    return tuple(run._replace(text=text) for run in runs if (text := squeeze(run.text)))


def _swapped_ipa(
    readings: tuple[tuple[Pronunciation, ...], ...], stretch: list[int], target: str, accent: str
) -> str:
    said = (swap_vowels(word.phones, target).after for i in stretch for word in readings[i])
    return " ".join(to_ipa(phones, load_accent(accent)) for phones in said)


def spans_of(runs: Iterable[Run], kind: VersionKind) -> Spans:
    """Runs by their look in a kind of version; neighbours of the same look are one.

    In the full swap every vowel is swapped: to show it would only be noise, so
    the stress stands alone. The original words show the vowels to watch, and no
    stress.
    """

    def look(run: Run) -> tuple[Grade, Vowel]:
        if kind is VersionKind.MARKED:
            return Grade.NONE, Vowel.WATCHED if run.watched else Vowel.NONE
        partial = run.swapped and kind is VersionKind.PARTIAL
        return run.grade, Vowel.SWAPPED if partial else Vowel.NONE

    return tuple(
        Span("".join([run.text for run in same]), *how) for how, same in groupby(runs, look)
    )


def print_word(word: Word, kind: VersionKind, *, breath: bool = False) -> Printed:
    """A word as it is printed in a kind of version, with its bar where a `breath` is marked.

    The arrow of the tune stands before the nucleus, as tonetic marks do: it says at once
    where the main beat is and where the voice goes (IPA: global rise, global fall). The
    original words are said as one likes and carry none.
    """
    spans = _set_spans(word.runs, kind, word.tune if kind is not VersionKind.MARKED else "")
    bar = word.mark if breath else ""
    return Printed(spans, word.original, word.ipa, word.weak, word.linked, bar)


@lru_cache(maxsize=1 << 12)
def _set_spans(runs: tuple[Run, ...], kind: VersionKind, tune: str) -> Spans:
    """The spans of a word; most words come again, in the next handout at the latest."""
    spans = spans_of(runs, kind)
    return _place_arrow(spans, tune) if tune else spans


def _place_arrow(spans: Spans, arrow: str) -> Spans:
    """The arrow before the syllable of the nucleus: a hyphen parts syllables, a space the
    words of a number; without either it is in front, after an opening quotation mark."""
    place = next((i for i, s in enumerate(spans) if s.grade is Grade.NUCLEUS), 0)
    before = text_of(spans[:place])
    cut = max(before.rfind("-"), before.rfind(" ")) + 1
    cut = cut or len(before) - len(before.lstrip("\"'“‘(["))
    made: list[Span] = []
    at = 0
    for span in spans:
        left, right = span.text[: max(0, cut - at)], span.text[max(0, cut - at) :]
        if at <= cut < at + len(span.text):
            made += [replace(span, text=left)] * bool(left)
            made += [Span(arrow, face=Face.TUNE), replace(span, text=right)]
        else:
            made.append(span)
        at += len(span.text)
    return tuple(made)


def iter_sentences(
    drill: Drill,
    version: Version,
    *,
    ipa: bool = False,
    before: int = 0,
    flow: bool = False,
    groups: Iterable[Group] = (),
) -> Iterator[Sentence]:
    """The sentences of one version, in order; `before` of them were numbered already. `groups`
    are those of `group_lines`, where they are known.

    Only the full swap shows the flow: the others are busy with their vowels.
    """
    flow = flow and version.kind is VersionKind.FULL
    target = drill.target if ipa else ""

    def show(row: int) -> Iterator[Printed]:
        made = group_words(
            drill.phrases[row],
            version.lines[row],
            drill.readings[row],
            target=target,
            accent=drill.accent,
            flow=drill.flow[row] if flow else (),
        )
        inside = any(go_on(drill.phrases[row], then) for then in drill.phrases[row + 1 : row + 2])
        return (print_word(word, version.kind, breath=inside) for word in made)

    for number, opens, lines in groups or group_lines(drill):
        printed = (tuple(word for row in rows for word in show(row)) for rows in lines)
        yield Sentence(before + number, tuple(printed), opens)


def group_lines(drill: Drill) -> Iterator[Group]:
    """Each sentence that is said: its number, whether it opens a paragraph, and its lines as
    numbers of phrases.

    A line is a breath: each phrase has its own, so that the page itself says where to
    breathe; a word or two before a mark ("Hi!" "Well,") join the line that they lead to. A
    line of verse is one, with bars where one breathes.
    """
    paragraph = -1
    rows = enumerate(zip(drill.phrases, drill.readings, strict=True))
    for number, group in groupby(rows, key=lambda row: row[1][0].sentence):
        lines: list[list[int]] = []
        opens = False
        short = 0
        for row, (phrase, readings) in group:
            opens |= phrase.paragraph != paragraph
            paragraph = phrase.paragraph
            text = "".join(token.text for token in phrase.tokens)
            if not text.strip():
                continue
            size = sum(len(vowel_indexes(said.phones)) for said in chain.from_iterable(readings))
            if lines and go_on(drill.phrases[lines[-1][-1]], phrase):
                lines[-1].append(row)
            elif short and short + size <= _FITTING:
                size += short
                lines[-1].append(row)
            else:
                lines.append([row])
            # Where the text begins a new line, as verse does, so does the sheet.
            led = text.rstrip().endswith((",", ".", "!", "?")) and "\n" not in text
            short = size if led and size <= _SHORT else 0
        if lines:
            yield number + 1, opens, lines


def go_on(left: Phrase, right: Phrase) -> bool:
    """Whether two phrases stand in one line of verse."""
    return 0 < left.line == right.line


_SHORT: Final = 2
"""Syllables of a breath group that has no line of its own before a comma."""

_FITTING: Final = 10
"""Syllables that fit a printed line, so that nothing is left over for a second one."""


def iter_paragraphs(drill: Drill) -> Iterator[str]:
    """The original text, a paragraph at a time, as plain characters."""
    if not drill.phrases:
        for block in re.split(r"\n\s*\n", drill.passage.text):
            if text := clean(block):
                yield text
        return
    for _, group in groupby(drill.phrases, key=lambda phrase: phrase.paragraph):
        if text := clean("".join(token.text for phrase in group for token in phrase.tokens)):
            yield text


# Labels


def format_pitch(pitch: Pitch, wording: Wording) -> tuple[str, str]:
    """The note, with its distance where it is off, and the frequency.

    >>> from drillgen.core.wording import choose_wording
    >>> format_pitch(Pitch(196.0, "G3", 0.02), choose_wording(False))
    ('G3', '196 Hz')
    >>> format_pitch(Pitch(200.0, "G3", 34.98), choose_wording(False))
    ('G3 + 35 cents', '200 Hz')
    """
    note = pitch.note
    if cents := round(pitch.cents):
        note = wording.off.format(note=note, sign="+" if cents > 0 else "−", cents=abs(cents))
    return note, f"{pitch.hz:.1f}".removesuffix(".0") + " Hz"


def describe_vowel(target: str, wording: Wording, accent: str = DEFAULT_ACCENT) -> str:
    """A target by its IPA and lexical set in an accent.

    >>> from drillgen.core.wording import choose_wording
    >>> describe_vowel("IY", choose_wording(False))
    '/i/ (FLEECE)'
    """
    vowel = load_accent(accent).vowels[target]
    if vowel.onset:
        return wording.onset.format(ipa=vowel.onset, set=vowel.lexical_set)
    return f"/{vowel.ipa}/ ({vowel.lexical_set})"


def target_in_words(drill: Drill, wording: Wording) -> str:
    """The target as the key writes it, with a word that has it: “ee” as in “see”."""
    ipa = load_accent(drill.accent).vowels[drill.target].ipa
    entry = next((entry for entry in drill.key if entry.ipa == ipa), None)
    if entry is None:
        return describe_vowel(drill.target, wording, drill.accent)
    spelling, example = (text.split(",")[0] for text in (entry.spelling, entry.example))
    return wording.stand.target.format(spelling=spelling, example=example)


FRONT: Final = frozenset({"IY", "IH", "EY", "EH"})
"""Targets for which the tongue is high or mid and forward (IPA chart)."""


def stand_label(
    version: Version, drill: Drill, head: Worksheet, wording: Wording, *, bold: bool = False
) -> tuple[str, str]:
    """The heading of a version and how to read it, for the music stand.

    `bold`: where letters can only be bold, not underlined.
    """
    title, _ = version_label(version, drill, wording)
    words = wording.stand
    match version.kind:
        case VersionKind.FULL:
            target = target_in_words(drill, wording)
            note = words.on_any
            if head.pitch:
                # No-break spaces: "G3" alone at the end of a line reads like the whole.
                pitch = "{} ({})".format(*format_pitch(head.pitch, wording))
                note = words.on_note.format(pitch=pitch.replace(" ", "\u00a0"))
            posture = words.forward if drill.target in FRONT else words.other
            how = words.full.format(
                target=target, note=note, posture=posture.format(target=target)
            )
            return title, f"{how} {words.lines}"
        case VersionKind.PARTIAL:
            return title, _say_what_changes(version, drill, wording, words.shown[bold])
        case VersionKind.MARKED:
            return title, words.marked.format(face=words.face[bold])


def _say_what_changes(version: Version, drill: Drill, wording: Wording, shown: str) -> str:
    """How much of a partial version changes; on a ladder, what no longer does."""
    words = wording.stand
    share = f"{100 * version.share:.0f}%"
    before = next((v for v in drill.versions if v.rung == version.rung + 1), None)
    if before is None and version.rung < 2:
        return words.partial.format(share=share, shown=shown)
    strategy = wording.strategies[version.strategy]
    text = words.rung.format(share=share, strategy=strategy, shown=shown)
    vowels = load_accent(drill.accent).vowels
    back = [vowels[v].lexical_set.lower() for v in before.changed] if before else []
    kept = {vowels[v].lexical_set.lower() for v in version.changed}
    if back := [name for name in back if name not in kept]:
        text += " " + words.rung_back.format(words=", ".join(back))
    return text.strip()


def drop_idle_rungs(drill: Drill) -> Drill:
    """The drill without the partial versions that would say again what another one says.

    In a short text, or a list of words that are alike, a rung may swap no vowel at all, or
    none less than the one before. The rungs that stay are numbered anew.
    """
    versions, left = [], 1.0
    for version in drill.versions:
        if version.kind is not VersionKind.PARTIAL:
            versions.append(version)
        elif 0 < version.share < left:
            versions.append(version)
            left = version.share
    if len(versions) == len(drill.versions):
        return drill
    rungs = count(sum(bool(version.rung) for version in versions), -1)
    return dataclasses.replace(
        drill,
        versions=tuple(
            dataclasses.replace(version, rung=next(rungs)) if version.rung else version
            for version in versions
        ),
    )


def note_idle_rungs(drill: Drill) -> tuple[str, ...]:
    """What to tell of a text that can't have as many partial versions as were asked for."""
    asked, differ = (
        sum(version.kind is VersionKind.PARTIAL for version in of.versions)
        for of in (drill, drop_idle_rungs(drill))
    )
    if differ == asked:
        return ()
    what = "a partial version" if asked == 1 else f"{asked} different partial versions"
    has = differ if asked > 1 else "none"
    problem = f"a text is too short, or its vowels too alike, for {what}: it has {has}"
    return (problem,)


def version_label(
    version: Version, drill: Drill, wording: Wording, *, flow: bool = False
) -> tuple[str, str]:
    """The heading of a version and the sentence under it.

    With `flow`, the full swap says what its marks of flow are for.
    """
    match version.kind:
        case VersionKind.FULL:
            note = wording.full_note.format(vowel=target_in_words(drill, wording))
            if flow and (signs := sorted(flow_signs(drill), reverse=True)):
                note = f"{note} {wording.flow_note.format(marks=wording.join.join(signs))}"
            return wording.full, note
        case VersionKind.PARTIAL:
            rungs = max(v.rung for v in drill.versions)
            heading = wording.partial
            if rungs > 1 and version.rung:
                heading = wording.partial_rung.format(rung=version.rung, rungs=rungs)
            share = f"{100 * version.share:.0f}%"
            strategy = wording.strategies.get(version.strategy, "")
            note = wording.partial_note.format(share=share, strategy=strategy)
            return heading, note.replace("; .", ".")
        case VersionKind.MARKED:
            return wording.marked, wording.marked_note


def delivery_texts(
    sheet: Worksheet, wording: Wording, target: str = "IY", accent: str = DEFAULT_ACCENT
) -> list[tuple[str, str]]:
    """Name and instruction of each delivery, with the posture of the target."""
    # No-break spaces: "G3" alone at the end of a line reads like the whole.
    spoken = " (".join(format_pitch(sheet.pitch, wording)) + ")" if sheet.pitch else ""
    spoken = spoken.replace(" ", "\u00a0")
    vowel = describe_vowel(target, wording, accent)
    return [
        (
            text.name,
            " ".join(
                [
                    text.instruction.format(pitch=spoken) if spoken else text.free_instruction,
                    text.posture if target in FRONT else text.other.format(target=vowel),
                ]
            ).strip(),
        )
        for text in wording.deliveries
    ]


def deliveries_for(version: Version, wording: Wording) -> list[DeliveryText]:
    """The deliveries that a version is for, in teaching order."""
    wanted = {
        VersionKind.FULL: (Delivery.CHANT, Delivery.INFLECTED),
        VersionKind.PARTIAL: (Delivery.INFLECTED,),
        VersionKind.MARKED: (Delivery.CARRY_OVER,),
    }[version.kind]
    return [text for text in wording.deliveries if text.delivery in wanted]


def marks_used(sheet_drills: Iterable[Drill], *, flow: bool = True) -> frozenset[str]:
    """The arrows that stand in the drills, the bars inside lines of verse, and with `flow` the
    marks of weak words and links."""
    signs: set[str] = set()
    for drill in sheet_drills:
        if drill.versions:
            signs.update(ARROWS[phrase.tune] for phrase in drill.phrases if phrase.grades)
            signs.update(BARS[a.boundary] for a, b in pairwise(drill.phrases) if go_on(a, b))
            if flow:
                signs |= flow_signs(drill)
    return frozenset(signs)


def flow_signs(drill: Drill) -> frozenset[str]:
    """The marks of weak words and links in the full swap."""
    full = next((v for v in drill.versions if v.kind is VersionKind.FULL), None)
    signs: set[str] = set()
    if full is None:
        return frozenset()
    for phrase, line, flows in zip(drill.phrases, full.lines, drill.flow, strict=True):
        for word in group_words(phrase, line, flow=flows):
            signs.update(word.weak * WEAK + word.linked * LINK)
        if len(signs) == len(FLOW_SIGNS):
            break
    return frozenset(signs)
