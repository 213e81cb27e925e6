"""A drill as the page shows it: sentences of words, each with all its versions.

A word carries every version at once, in one place; the slider shows one of
them, so nothing moves and nothing is fetched while it slides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drillgen.core.accents import load_accent
from drillgen.core.document import Face
from drillgen.core.printable import clean
from drillgen.core.syllables import to_ipa
from drillgen.core.values import Drill, Pronunciation, Version, VersionKind
from drillgen.core.wording import Wording
from drillgen.sheets.content import (
    ARROWS,
    Word,
    go_on,
    group_lines,
    group_words,
    list_stretches,
    note_idle_rungs,
    print_word,
    version_label,
)
from drillgen.speech.pronounce.soundalike import to_soundalike


class Piece(NamedTuple):
    """A stretch of letters in one style."""

    text: str
    bold: bool
    underlined: bool
    tune: bool = False
    """An arrow, which is seen only: the mark at the end says it in words."""


class Layer(NamedTuple):
    """What a word looks like in one or more versions."""

    places: tuple[int, ...]
    """Places of the slider at which it shows, ascending."""

    pieces: tuple[Piece, ...]
    changed: bool
    """Respelled: the original stands above it. Otherwise it is the original."""


class ShownWord(NamedTuple):
    """What stands between two spaces."""

    at: int
    """Offset of its first character in the drill's text."""

    original: str
    layers: tuple[Layer, ...]
    said: bool
    """Something in it is said, so there is something to look up."""

    doubtful: bool
    mark_name: str
    """What the line's end and the arrow say, in words: for those who hear the page."""

    bar: str = ""
    """Where one breathes inside a line of verse."""


class ShownSentence(NamedTuple):
    """One sentence."""

    number: int
    """From 1."""

    opens_paragraph: bool
    plain: str
    lines: tuple[tuple[ShownWord, ...], ...]
    """As they are printed: a line is a breath."""

    @property
    def words(self) -> tuple[ShownWord, ...]:
        """All its words."""
        return tuple(word for line in self.lines for word in line)


class ShownVersion(NamedTuple):
    """One place of the slider."""

    place: int
    name: str
    note: str


class Doubt(NamedTuple):
    """A word to check, with its place in the text."""

    at: int
    word: str
    said: tuple[str, str]
    """Its spelling by ear and its IPA; "" and "" for a number, whose words the reason has."""

    reason: str
    shown: bool
    """Its sentence is in the preview."""


class Preview(NamedTuple):
    """Everything that the preview shows."""

    title: str
    versions: tuple[ShownVersion, ...]
    """From the marked original to the full swap."""

    sentences: tuple[ShownSentence, ...]
    doubts: tuple[Doubt, ...]
    notes: tuple[str, ...]
    """What the word list does in this text, and that it is too short for its rungs."""

    words: int
    """Words of the whole text."""

    cut: int
    """Words that are shown where the preview is cut short, otherwise 0."""


def make_preview(drill: Drill, wording: Wording, *, most_words: int) -> Preview:
    """The drill as the page shows it, whole sentences up to about `most_words`."""
    order = sort_versions(drill.versions)
    unsure = [item for item in drill.review if item.doubtful]
    doubtful = {item.word for item in unsure}
    sentences: list[ShownSentence] = []
    count = 0
    for sentence in _iter_sentences(drill, order, doubtful, wording):
        sentences.append(sentence)
        count += len(sentence.words)
        if count >= most_words:
            break
    total = len(drill.passage.text.split())
    shown = {word.at for sentence in sentences for word in sentence.words}
    starts = word_starts(drill)
    return Preview(
        title=clean(drill.passage.title),
        versions=tuple(
            ShownVersion(place, *version_label(version, drill, wording))
            for place, version in enumerate(order)
        ),
        sentences=tuple(sentences),
        doubts=tuple(
            Doubt(
                at := starts[item.token.start],
                clean(item.token.text),
                ("", "") if item.readings else _show_said(item.pronunciation, drill.accent),
                item.reason,
                at in shown,
            )
            for item in unsure
        ),
        notes=tuple(as_sentence(clean(n)) for n in (*note_idle_rungs(drill), *drill.notes)),
        words=total,
        cut=count if count < total and len(shown) < len(set(starts.values())) else 0,
    )


def _show_said(said: Pronunciation, accent: str) -> tuple[str, str]:
    return to_soundalike(said.listed[0]), to_ipa(said.phones, load_accent(accent))


def as_sentence(text: str) -> str:
    """A message as people read it."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", "!")) else ".")


def sort_versions(versions: Sequence[Version]) -> tuple[Version, ...]:
    """The versions from the marked original over the rungs to the full swap."""
    kinds = (VersionKind.MARKED, VersionKind.PARTIAL, VersionKind.FULL)
    return tuple(sorted(versions, key=lambda v: (kinds.index(v.kind), v.rung)))


def find_stretch(drill: Drill, at: int) -> tuple[int, tuple[int, ...]] | None:
    """Number of the phrase and of the tokens of the word that begins at an offset."""
    for number, phrase in enumerate(drill.phrases):
        if phrase.tokens and phrase.tokens[0].start <= at < phrase.tokens[-1].end:
            for stretch in list_stretches(phrase):
                if phrase.tokens[stretch[0]].start == at:
                    return number, tuple(stretch)
    return None


def split_sentence(drill: Drill, row: int, columns: Sequence[int]) -> tuple[str, str, str]:
    """The sentence around a word of a phrase: what is before it, the word, the rest."""
    sentence = drill.phrases[row].sentence
    first = drill.phrases[row].tokens[columns[0]].start
    end = drill.phrases[row].tokens[columns[-1]].end
    before: list[str] = []
    word: list[str] = []
    after: list[str] = []
    for phrase in drill.phrases:
        if phrase.sentence == sentence:
            for token in phrase.tokens:
                part = before if token.start < first else word if token.start < end else after
                part.append(token.text)
    # A mark at the ends keeps the spaces there, which `clean` would take.
    head = clean("".join(before) + "|").removesuffix("|").lstrip()
    return head, clean("".join(word)), clean("|" + "".join(after)).removeprefix("|").rstrip()


def word_starts(drill: Drill) -> dict[int, int]:
    """Offset of each token to that of its word."""
    return {
        phrase.tokens[i].start: phrase.tokens[stretch[0]].start
        for phrase in drill.phrases
        for stretch in list_stretches(phrase)
        for i in stretch
    }


def _iter_sentences(
    drill: Drill, order: Sequence[Version], doubtful: set[str], wording: Wording
) -> Iterator[ShownSentence]:
    for number, opens, rows in group_lines(drill):
        tokens = (token for line in rows for row in line for token in drill.phrases[row].tokens)
        lines = (
            tuple(w for row in line for w in _show_phrase(drill, row, order, doubtful, wording))
            for line in rows
        )
        plain = clean("".join(token.text for token in tokens))
        yield ShownSentence(number, opens, plain, tuple(lines))


def _show_phrase(
    drill: Drill, row: int, order: Sequence[Version], doubtful: set[str], wording: Wording
) -> Iterator[ShownWord]:
    phrase = drill.phrases[row]
    inside = any(go_on(phrase, then) for then in drill.phrases[row + 1 : row + 2])
    versions = [group_words(phrase, version.lines[row]) for version in order]
    for stretch, *words in zip(list_stretches(phrase), *versions, strict=True):
        tokens = [phrase.tokens[i] for i in stretch]
        spoken = [word.word for i in stretch for word in drill.readings[row][i]]
        mark = words[-1].mark
        yield ShownWord(
            at=tokens[0].start,
            original=clean("".join(token.text for token in tokens)),
            layers=_stack(words, order),
            said=bool(spoken),
            doubtful=any(word in doubtful for word in spoken),
            mark_name=", ".join(map(wording.name_mark, (mark, ARROWS[phrase.tune])))
            if mark
            else "",
            bar=mark if inside else "",
        )


def _stack(words: Sequence[Word], order: Sequence[Version]) -> tuple[Layer, ...]:
    """One layer for each look, so that equal versions share one."""
    looks: dict[tuple[tuple[Piece, ...], bool], list[int]] = {}
    for place, (word, version) in enumerate(zip(words, order, strict=True)):
        pieces = tuple(
            Piece(
                span.text,
                span.stressed or bool(span.vowel),
                bool(span.vowel),
                span.face is Face.TUNE,
            )
            for span in print_word(word, version.kind).spans
        )
        looks.setdefault((pieces, bool(word.original)), []).append(place)
    return tuple(Layer(tuple(places), *look) for look, places in looks.items())
