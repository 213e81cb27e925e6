"""The user's own pronunciations: a small text file, one word a line.

    # the people of Pellow Quay
    siobhan   SH AH0 V AO1 N
    niamh     /niːv/              # the baker
    eilidh    like: AY-lee

First the word, then its pronunciation: ARPAbet as in CMUdict, IPA between
slashes or square brackets, or a sound-alike after "like:". What follows a #
is a note. Upper and lower case of the word don't matter. In brackets after
the word stands where the line holds, if not everywhere (places.py).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from drillgen.core.errors import InputError, placed
from drillgen.core.phones import PHONE_TABLE, format_phones, parse_phones, vowel_indexes
from drillgen.core.values import Phones
from drillgen.speech.pronounce.places import EVERYWHERE, Scope, parse_scope

if TYPE_CHECKING:
    from drillgen.speech.pronounce.soundalike import Lookup

_LIKE: Final = "like:"
_APOSTROPHES: Final = str.maketrans({"’": "'", "‘": "'", "ʼ": "'", "`": "'"})


@dataclass(frozen=True, slots=True)
class Override:
    """One entry of the file."""

    word: str
    """Lower case, straight apostrophes, as the spoken words of a token."""

    phones: Phones
    line: int
    """Where it stands in the file, from 1; 0: made in memory."""

    note: str = ""
    """The remark behind #."""

    scope: Scope = EVERYWHERE
    """Where it holds."""


@dataclass(frozen=True, slots=True)
class Overrides:
    """All entries of a file, those that hold everywhere by word."""

    entries: Mapping[str, Override] = field(default_factory=lambda: MappingProxyType({}))
    warnings: tuple[str, ...] = ()
    """One line for each entry of a lexicon that was left out or needed a guess."""

    placed: tuple[Override, ...] = ()
    """The entries that hold in a place or a text only; the first of equal ones holds."""

    def get(self, word: str) -> Phones | None:
        """The pronunciation of a word, or None. `word` as `normalize_word` has it."""
        entry = self.entries.get(word)
        return None if entry is None else entry.phones

    def __iter__(self) -> Iterator[Override]:
        """The entries that hold everywhere, in the order of the file."""
        return iter(self.entries.values())

    def __len__(self) -> int:
        return len(self.entries)


def merge_overrides(lists: Iterable[Overrides]) -> Overrides:
    """One set of entries out of several; the first that has a word wins."""
    entries: dict[str, Override] = {}
    warnings: list[str] = []
    placed: list[Override] = []
    for overrides in lists:
        warnings += overrides.warnings
        placed += overrides.placed
        for entry in overrides:
            entries.setdefault(entry.word, entry)
    return Overrides(MappingProxyType(entries), tuple(warnings), tuple(placed))


def normalize_word(text: str) -> str:
    """The form of a word that pronunciations are looked up by.

    >>> normalize_word("O’Hara")
    "o'hara"
    """
    return unicodedata.normalize("NFC", text).translate(_APOSTROPHES).lower()


def no_lookup(word: str) -> None:
    """A dictionary without words, for sound-alikes made of syllables only."""


def parse_overrides(text: str, name: str, lookup: Lookup = no_lookup) -> Overrides:
    """Read the file's text; `name` is the file's name for messages.

    `lookup` finds the real words in sound-alikes. Raises InputError with the
    file, the line and the mend.

    >>> from drillgen.core.phones import format_phones
    >>> found = parse_overrides("Maeve /meɪv/  # the pilot", "names.txt")
    >>> found.entries["maeve"].note, format_phones(found.entries["maeve"].phones)
    ('the pilot', 'M EY1 V')
    """
    entries: dict[tuple[str, Scope], Override] = {}
    # Not splitlines: it also breaks at form feeds and the like, and line
    # numbers must be those that an editor shows.
    for number, line in enumerate(text.removeprefix("\ufeff").split("\n"), 1):
        with placed(name, number):
            entry = _parse_line(line, number, lookup)
        if entry is None:
            continue
        before = entries.get((entry.word, entry.scope))
        if before is not None:
            raise InputError(
                f"{entry.word!r} is already on line {before.line}",
                "keep one of the two",
                file=name,
                line=number,
            )
        entries[entry.word, entry.scope] = entry
    general = {entry.word: entry for entry in entries.values() if entry.scope == EVERYWHERE}
    others = tuple(entry for entry in entries.values() if entry.scope != EVERYWHERE)
    return Overrides(MappingProxyType(general), placed=others)


def _parse_line(line: str, number: int, lookup: Lookup) -> Override | None:
    body, note = _split_note(line)
    if not body:
        return None
    written, scope, said = split_line(body)
    word = normalize_word(written)
    if not any(char.isalpha() for char in word):
        mend = "begin the line with a word, such as: siobhan SH AH0 V AO1 N"
        raise InputError(f"{written!r} isn't a word", mend)
    if not said:
        mend = f"write it after the word, such as: {written} like: shiv-AWN"
        raise InputError(f"{written!r} has no pronunciation", mend)
    column = line.find(said[:1], line.find(")") if scope else len(written)) + 1
    phones = parse_said(said, lookup, column=column)
    try:
        return Override(word, phones, number, note, parse_scope(scope) if scope else EVERYWHERE)
    except InputError as error:
        error.column = error.column or line.find("(") + 1
        raise


def split_line(body: str) -> tuple[str, str, str]:
    """Word, scope without its brackets, and pronunciation of a line without its note.

    >>> split_line("close (in The ferry: please _ the)  K L OW1 Z")
    ('close', 'in The ferry: please _ the', 'K L OW1 Z')
    """
    written, _, rest = body.partition(" ")
    rest = rest.strip()
    if not rest.startswith("("):
        return written, "", rest
    scope, closed, said = rest[1:].partition(")")
    if not closed:
        raise InputError("the bracket isn't closed", "end the place or text with )")
    return written, scope.strip() or " ", said.strip()


def _split_note(line: str) -> tuple[str, str]:
    """The line without its note, blanks as single spaces; and the note."""
    # A # inside a word is no note: C# would be lost otherwise.
    parts = line.replace("\t", " ").split(" ")
    for i, part in enumerate(parts):
        if part.startswith("#"):
            note = " ".join(parts[i:])[1:].strip()
            return " ".join(" ".join(parts[:i]).split()), note
    return " ".join(line.split()), ""


def parse_said(said: str, lookup: Lookup = no_lookup, *, column: int = 1) -> Phones:
    """A pronunciation in any notation of the file: ARPAbet, IPA or "like: …".

    `column` is where it begins in its line, from 1. InputError where it can't be read.
    """
    if not said:
        raise InputError("there is no pronunciation", "write one, such as like: shiv-AWN")
    if said[:5].lower() == _LIKE:
        from drillgen.speech.pronounce.soundalike import parse_soundalike

        return parse_soundalike(said[5:].strip(), lookup)
    if said[0] in "/[":
        if len(said) < 2 or said[-1] != {"/": "/", "[": "]"}[said[0]]:
            raise InputError("the IPA isn't closed", "end it as it begins, with / or ]")
        from drillgen.speech.pronounce.ipa import parse_ipa

        phones = parse_ipa(said, column=column)
        return _check_stress(phones, "put ˈ before the stressed syllable")
    try:
        phones = parse_phones(said)
    except InputError as error:
        if all(part.isupper() or part[-1:].isdigit() for part in said.split()):
            raise
        mend = f"write ARPAbet (SH IY1), IPA (/ʃiː/), or a sound-alike (like: {said})"
        raise InputError(f"can't read {said!r}", mend) from error
    if not any(part[-1] in "012" for part in said.split()):
        vowels = vowel_indexes(phones)
        if len(vowels) == 1:
            # A word of one syllable carries its stress; a schwa is written AH0.
            (i,) = vowels
            return (*phones[:i], PHONE_TABLE[f"{phones[i].symbol}1"], *phones[i + 1 :])
        return _check_stress(phones, "put a 1 behind the stressed vowel, such as AO1")
    return phones


def _check_stress(phones: Phones, mend: str) -> Phones:
    if len(vowel_indexes(phones)) > 1 and not any(phone.stress == 1 for phone in phones):
        raise InputError("no syllable is stressed", mend)
    return phones


def format_override(word: str, phones: Phones, note: str = "", scope: Scope = EVERYWHERE) -> str:
    """One line of the file, without its end.

    >>> format_override("Niamh", parse_phones("N IY1 V"), "the baker")
    'niamh  N IY1 V  # the baker'
    """
    tail = f"  # {' '.join(note.split())}" if note.strip() else ""
    where = f" ({scope})" if scope != EVERYWHERE else ""
    return f"{normalize_word(word)}{where}  {format_phones(phones)}{tail}"


def add_overrides(text: str, entries: Mapping[str, Phones], scope: Scope = EVERYWHERE) -> str:
    """The file's text with these entries of one scope in it, replaced in place or at the end.

    All other lines, comments and line ends stay byte for byte, and so does
    the note behind a replaced entry. InputError for what is no single word.

    >>> add_overrides("# names\\nmaeve M EY1 V  # pilot\\n", {"Maeve": parse_phones("M AE1 V")})
    '# names\\nmaeve  M AE1 V  # pilot\\n'
    """
    wanted: dict[str, Phones] = {}
    for written, phones in entries.items():
        word = normalize_word(written)
        usable = any(char.isalpha() for char in word) and not any(map(str.isspace, word))
        if not usable or word.startswith("#"):
            problem = f"{written!r} can't stand in a word list"
            raise InputError(problem, "choose a single word")
        wanted[word] = phones
    lines = text.split("\n")
    for i, line in enumerate(lines):
        body, note = _split_note(line.removeprefix("\ufeff") if i == 0 else line)
        word, here = _key_of(body)
        phones = wanted.pop(word, ()) if here == scope else ()
        if phones:
            start = "\ufeff" if i == 0 and line.startswith("\ufeff") else ""
            end = "\r" if line.endswith("\r") else ""
            lines[i] = start + format_override(word, phones, note, scope) + end
    text = "\n".join(lines)
    newline = "\r\n" if "\r\n" in text else "\n"
    separator = "" if not text or text.endswith("\n") or not wanted else newline
    added = "".join(
        format_override(word, phones, scope=scope) + newline for word, phones in wanted.items()
    )
    return text + separator + added


def _key_of(body: str) -> tuple[str, Scope | None]:
    """Word and scope of a line without its note; no scope where it can't be read."""
    try:
        written, scope, _ = split_line(body)
        return normalize_word(written), parse_scope(scope) if scope else EVERYWHERE
    except InputError:
        return "", None


def remove_override(text: str, word: str, scope: Scope = EVERYWHERE) -> str:
    """The file's text without the entry of a word in a scope; all other lines stay."""
    wanted = (normalize_word(word), scope)
    lines = text.split("\n")
    kept = [x for x in lines if _key_of(_split_note(x.removeprefix("\ufeff"))[0]) != wanted]
    return text if len(kept) == len(lines) else "\n".join(kept)


def change_override(text: str, word: str, phones: Phones | None, scope: Scope = EVERYWHERE) -> str:
    """The file's text with an entry for a word in a scope, or without it where phones are None."""
    if phones is None:
        return remove_override(text, word, scope)
    return add_overrides(text, {word: phones}, scope)
