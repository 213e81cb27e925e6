"""A drill as one looks at it: words with their sounds, lines, a notebook's view.

Views are made when they are asked for; nothing in the pipeline uses them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from itertools import groupby

from drillgen.core.accents import Accent, load_accent
from drillgen.core.syllables import to_ipa
from drillgen.core.values import (
    Drill,
    Line,
    Origin,
    Phone,
    Phones,
    Phrase,
    Pronunciation,
    Respelling,
    Run,
    Token,
    Version,
    VersionKind,
)

_ORIGINS = tuple(Origin)


@dataclass(frozen=True, slots=True, repr=False)
class Word:
    """A token that is said, in one version, aligned with the original text.

    >>> import drillgen
    >>> word = drillgen.make_drill("See you on the quay.").words[-1]
    >>> word.original, word.start, word.end, word.ipa, word.respelling, word.origin.value
    ('quay', 15, 19, 'ki', 'kee', 'dictionary')
    """

    original: str
    """As it stands in the text."""

    start: int
    """Offset of its first character in the text (code points)."""

    end: int
    """Offset just past its last character."""

    readings: tuple[Pronunciation, ...]
    """One per spoken word: "23" has two."""

    after: Phones
    """The phones as they are said in this version."""

    respelling: str
    """As it is printed in this version."""

    accent: Accent

    @property
    def before(self) -> Phones:
        """The phones of the original, in the drill's accent."""
        return tuple(phone for reading in self.readings for phone in reading.phones)

    @property
    def ipa(self) -> str:
        """IPA of the original, a space between spoken words."""
        return " ".join(to_ipa(reading.phones, self.accent) for reading in self.readings)

    @property
    def ipa_after(self) -> str:
        """IPA of this version."""
        parts, place = [], 0
        for reading in self.readings:
            phones = self.after[place : place + len(reading.phones)]
            parts.append(to_ipa(phones, self.accent))
            place += len(reading.phones)
        return " ".join(parts)

    @property
    def origin(self) -> Origin:
        """Where the pronunciation came from; of several, the least sure source."""
        return max((r.origin for r in self.readings), key=_ORIGINS.index)

    @property
    def confidence(self) -> float:
        """Estimated chance, 0 to 1, that consonants and vowel places are right."""
        return min(reading.confidence for reading in self.readings)

    def __repr__(self) -> str:
        return f"Word({self.original!r} /{self.ipa}/ → {self.respelling!r} /{self.ipa_after}/)"


@dataclass(frozen=True, slots=True, repr=False)
class VersionView:
    """One version of a drill, as text and as words.

    >>> import drillgen
    >>> drill = drillgen.make_drill("Two boats. Good morning.")
    >>> print(drill.full)
    tee beets. gheed meer-neeng.
    >>> drill.marked.text == drill.passage.text
    True
    """

    drill: Drill
    version: Version

    @property
    def text(self) -> str:
        """What is printed, without emphasis, laid out as the original."""
        return "".join(
            cell.text if cell else token.text
            for phrase, line in self._rows()
            for token, cell in zip(phrase.tokens, line.cells, strict=True)
        )

    @property
    def words(self) -> tuple[Word, ...]:
        """Everything that is said, in the order of the text."""
        return tuple(self._iter_words())

    @property
    def share(self) -> float:
        """Swapped vowels as a share of all vowels, 0 to 1."""
        return self.version.share

    def _rows(self) -> Iterator[tuple[Phrase, Line]]:
        return zip(self.drill.phrases, self.version.lines, strict=True)

    def _iter_words(self) -> Iterator[Word]:
        accent = load_accent(self.drill.accent)
        for (phrase, line), readings in zip(self._rows(), self.drill.readings, strict=True):
            for token, cell, said in zip(phrase.tokens, line.cells, readings, strict=True):
                if cell is not None:
                    yield Word(
                        token.text,
                        token.start,
                        token.end,
                        said,
                        self._swap(said, cell),
                        cell.text,
                        accent,
                    )

    def _swap(self, said: tuple[Pronunciation, ...], cell: Respelling) -> Phones:
        """The phones of a cell."""
        replaced = cell.replaced or ((),) * len(said)
        return tuple(
            Phone(self.drill.target, phone.stress) if i in changes else phone
            for reading, changes in zip(said, replaced, strict=True)
            for i, phone in enumerate(reading.phones)
        )

    def _sentences(self) -> Iterator[list[tuple[Token, Respelling | None]]]:
        for _, rows in groupby(self._rows(), key=lambda row: row[0].sentence):
            yield [
                pair
                for phrase, line in rows
                for pair in zip(phrase.tokens, line.cells, strict=True)
            ]

    def format_sentences(self) -> list[str]:
        """A line for each sentence: stress in capitals, marked vowels in brackets."""
        marked = self.version.kind is VersionKind.MARKED
        return [
            " ".join(
                "".join(
                    _show(cell, marked) if cell else token.text for token, cell in sentence
                ).split()
            )
            for sentence in self._sentences()
        ]

    def __str__(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return f"<{self.version.kind.value} version, {self.share:.0%} of the vowels swapped>"

    def _repr_html_(self) -> str:
        """Aligned lines for a notebook: the original above each printed word."""
        return "\n".join(f"<p>{_sentence_html(s)}</p>" for s in self._sentences())


def name_version(version: Version) -> str:
    """A short name: "full", "partial 2", "marked"."""
    return f"{version.kind.value} {version.rung}" if version.rung > 0 else version.kind.value


def format_drill(drill: Drill) -> str:
    """The graded lines of each sentence, one version below the other."""
    names = [name_version(version) for version in drill.versions]
    width = max(map(len, names), default=0)
    columns = [VersionView(drill, version).format_sentences() for version in drill.versions]
    return "\n\n".join(
        "\n".join(f"{name:<{width}}  {line}" for name, line in zip(names, lines, strict=True))
        for lines in zip(*columns, strict=True)
    )


def format_drill_html(drill: Drill) -> str:
    """The versions of a drill for a notebook."""
    return "\n".join(
        f"<h4>{escape(name_version(version))}</h4>\n{VersionView(drill, version)._repr_html_()}"
        for version in drill.versions
    )


def show_stress(cell: Respelling) -> str:
    """Plain text with stressed syllables in capitals."""
    return "".join(run.text.upper() if run.stressed else run.text for run in cell.runs)


def _show(cell: Respelling, marked: bool) -> str:
    if marked:
        return "".join(f"[{run.text}]" if run.watched else run.text for run in cell.runs)
    return show_stress(cell)


def _sentence_html(sentence: list[tuple[Token, Respelling | None]]) -> str:
    parts = []
    for token, cell in sentence:
        if cell is None:
            parts.append(escape(token.text))
        else:
            base = "".join(map(_run_html, cell.runs))
            above = f"<rt>{escape(token.text)}</rt>" if cell.text != token.text else ""
            parts.append(f"<ruby>{base}{above}</ruby>" if above else base)
    return "".join(parts)


def _run_html(run: Run) -> str:
    """Weight is stress, an underline a swapped vowel."""
    text = escape(run.text)
    if run.stressed:
        text = f"<b>{text}</b>"
    return f"<u>{text}</u>" if run.swapped else text
