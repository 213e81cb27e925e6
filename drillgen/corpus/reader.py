"""The corpora that ship with drillgen: passages, prompts and lists.

Every file is Markdown with TOML front matter between two `+++` lines: title,
step, topic and note. docs/corpora.md describes the three kinds of file and
the rules that tools/check_corpora.py checks.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.accents import R_SETS
from drillgen.core.errors import InputError, OptionError, placed
from drillgen.core.options import Locale, Unit
from drillgen.core.phones import SET_VOWELS, parse_phones
from drillgen.core.resources import resource_folder
from drillgen.core.values import Passage, Phones

STEPS: Final = (1, 2, 3)
DEFAULT_PASSAGE: Final = "the-early-ferry"
"""Key of the passage that is used when the user gives no text."""

LIST_UNITS: Final = (Unit.SYLLABLE, Unit.WORD, Unit.PHRASE, Unit.SENTENCE)
"""The units that have lists; the others are whole texts."""


@dataclass(frozen=True, slots=True)
class CorpusPassage:
    """A reading passage of ours."""

    key: str
    """File name without its ending."""

    title: str
    step: int
    topic: str
    text: str
    """Paragraphs with an empty line between them; a paragraph is one line."""

    note: str
    balanced: bool = False
    """Its phonemes are spread as in running English."""


@dataclass(frozen=True, slots=True)
class Prompt:
    """Something to talk about, and two ways to answer."""

    key: str
    """Topic, step and a word of its own, such as "errands-1-parcel". It stays
    the same when other prompts come or go, so that histories stay true."""

    topic: str
    step: int
    question: str
    answer: str
    """The fuller model answer, of the step's length."""

    easier: str
    """A short model answer, said in one breath."""


@dataclass(frozen=True, slots=True)
class ListItem:
    """One line of a list."""

    text: str
    """What the client reads."""

    phones: Phones = ()
    """For a syllable, its phonemes; otherwise empty, the text says it all."""

    hint: str = ""
    """For a syllable, a common word that begins with it."""


@dataclass(frozen=True, slots=True)
class WordList:
    """The lists of one lexical set."""

    lexical_set: str
    title: str
    step: int
    topic: str
    note: str
    items: Mapping[Unit, tuple[ListItem, ...]]


class Place(StrEnum):
    """Where the vowel of a lexical set stands."""

    STRESSED = "stressed"
    """Primary stress, no /r/ after it."""

    BEFORE_R = "before r"
    """Primary stress, /r/ after it."""

    ANY = "any"
    """Primary stress, whatever follows."""

    FINAL = "final"
    """Unstressed, at the end of the word."""


class SetRule(NamedTuple):
    """How CMUdict writes a lexical set."""

    vowels: tuple[str, ...]
    place: Place


def _rule_of(name: str) -> SetRule:
    symbol = SET_VOWELS[name]
    if name in ("HAPPY", "LETTER", "COMMA"):
        return SetRule((symbol,), Place.FINAL)
    if name == "NURSE":
        return SetRule((symbol,), Place.ANY)
    if name in R_SETS:
        # "Ear" has the vowel of KIT in most lines, that of FLEECE in others.
        return SetRule((symbol, "IY") if name == "NEAR" else (symbol,), Place.BEFORE_R)
    return SetRule((symbol,), Place.STRESSED)


LEXICAL_SETS: Final = MappingProxyType(
    {
        name: _rule_of(name)
        for names in (
            "FLEECE KIT FACE DRESS TRAP LOT STRUT NURSE PRICE MOUTH CHOICE GOAT FOOT THOUGHT",
            "GOOSE BATH PALM CLOTH NEAR SQUARE START NORTH FORCE CURE HAPPY LETTER COMMA",
        )
        for name in names.split()
    }
)
"""The sets of Wells, Accents of English (1982), chapter 2, as General American
in CMUdict has them: BATH falls in with TRAP, PALM with LOT, CLOTH with THOUGHT,
NORTH with FORCE. First those that name a vowel, the nearest to the target first, roughly."""

_SECTIONS = MappingProxyType({f"{unit}s": unit for unit in LIST_UNITS})


class CorpusFile(NamedTuple):
    """A corpus file taken apart, not judged yet."""

    path: Path
    head: Mapping[str, object]
    body: str
    first: int
    """Line number of the body's first line."""


def _fail(path: Path, line: int, problem: str, mend: str) -> InputError:
    return InputError(problem, mend, file=path.name, line=line)


def read_corpus_file(path: Path) -> CorpusFile:
    """Take a file apart into front matter and body.

    Raises InputError with the file and line where it isn't UTF-8, has no front
    matter, or the front matter isn't TOML.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise _fail(path, 1, "can't be read as UTF-8", "save it as UTF-8") from error
    lines = text.splitlines()
    if not lines or lines[0].strip() != "+++":
        raise _fail(path, 1, "no front matter", "begin the file with a line +++")
    try:
        end = next(i for i, line in enumerate(lines[1:], 1) if line.strip() == "+++")
    except StopIteration:
        raise _fail(path, 1, "front matter without an end", "close it with a line +++") from None
    try:
        head = tomllib.loads("\n".join(lines[1:end]))
    except tomllib.TOMLDecodeError as error:
        raise _fail(path, 2, f"front matter isn't TOML ({error})", "mend it") from None
    return CorpusFile(path, head, "\n".join(lines[end + 1 :]), end + 2)


def _text_field(file: CorpusFile, name: str) -> str:
    value = file.head.get(name)
    if not isinstance(value, str) or not value.strip():
        raise _fail(file.path, 1, f"no {name} in the front matter", f'add {name} = "…"')
    return value.strip()


def _step_field(file: CorpusFile) -> int:
    value = file.head.get("step")
    if value not in STEPS or not isinstance(value, int) or isinstance(value, bool):
        raise _fail(file.path, 1, f"step is {value!r}", "write step = 1, 2 or 3")
    return value


def _paragraphs(text: str) -> tuple[str, ...]:
    blocks = re.split(r"\n\s*\n", text.strip())
    return tuple(" ".join(block.split()) for block in blocks if block.strip())


def parse_passage(file: CorpusFile) -> CorpusPassage:
    """A reading passage from its file. InputError for a missing field."""
    text = "\n\n".join(_paragraphs(file.body))
    if not text:
        raise _fail(file.path, file.first, "no text", "write the passage below the front matter")
    return CorpusPassage(
        key=file.path.stem,
        title=_text_field(file, "title"),
        step=_step_field(file),
        topic=_text_field(file, "topic"),
        text=text,
        note=_text_field(file, "note"),
        balanced=file.head.get("balanced") is True,
    )


def _sections(file: CorpusFile) -> Iterator[tuple[int, str, str]]:
    """Line number, heading and body of each `## ` section."""
    name, start, held = "", file.first, list[str]()
    for number, line in enumerate(file.body.splitlines(), file.first):
        if line.startswith("## "):
            if name:
                yield start, name, "\n".join(held)
            name, start, held = line[3:].strip(), number, []
        elif name:
            held.append(line)
        elif line.strip():
            raise _fail(file.path, number, "text before the first heading", "move it below a ##")
    if name:
        yield start, name, "\n".join(held)


_EITHER = re.compile(r"\{([^{}|]+)\|([^{}|]+)\}")


def choose_words(text: str, locale: Locale) -> str:
    """A text in American or in British words, where it has both in braces.

    >>> choose_words("Find a {pharmacist|chemist}.", Locale.EN_GB)
    'Find a chemist.'
    """
    return _EITHER.sub(r"\2" if locale is Locale.EN_GB else r"\1", text)


def parse_prompts(file: CorpusFile, locale: Locale = Locale.EN_US) -> tuple[Prompt, ...]:
    """The prompts of a file, in order, in the words of the locale. InputError names the line."""
    topic, step = _text_field(file, "topic"), _step_field(file)
    _text_field(file, "title"), _text_field(file, "note")
    prompts = []
    for line, name, body in _sections(file):
        parts = _paragraphs(choose_words(body, locale))
        if len(parts) != 3:
            raise _fail(
                file.path,
                line,
                f"{len(parts)} paragraphs under {name!r}",
                "write the question, the easier and the fuller answer, with empty lines between",
            )
        if sign := re.search(r"[{}|]", "".join(parts)):
            mend = "write two wordings as {American|British}"
            raise _fail(file.path, line, f"a lone {sign[0]!r} under {name!r}", mend)
        if not re.fullmatch(r"[a-z]+(-[a-z]+)*", name):
            raise _fail(file.path, line, f"heading {name!r}", "use lower-case words and hyphens")
        question, easier, answer = parts
        prompts.append(Prompt(f"{topic}-{step}-{name}", topic, step, question, answer, easier))
    return tuple(prompts)


_SYLLABLE_LINE = re.compile(r"(?P<text>\S+) = (?P<phones>[A-Z0-9 ]+?) \((?P<hint>[a-z]+)\)")


def parse_list(file: CorpusFile) -> WordList:
    """The lists of one lexical set. InputError names the line."""
    items: dict[Unit, tuple[ListItem, ...]] = dict.fromkeys(LIST_UNITS, ())
    for start, name, body in _sections(file):
        kind = _SECTIONS.get(name.lower())
        if kind is None:
            known = ", ".join(_SECTIONS)
            raise _fail(file.path, start, f"unknown heading {name!r}", f"use one of: {known}")
        found = []
        for number, line in enumerate(body.splitlines(), start + 1):
            if not line.strip():
                continue
            if not line.startswith("- "):
                raise _fail(file.path, number, "not a list item", 'begin the line with "- "')
            text = line[2:].strip()
            if kind is Unit.SYLLABLE:
                match = _SYLLABLE_LINE.fullmatch(text)
                if not match:
                    mend = "write it as: boo = B UW1 (boot)"
                    raise _fail(file.path, number, f"syllable {text!r}", mend)
                with placed(file.path.name, number):
                    phones = parse_phones(match["phones"])
                found.append(ListItem(match["text"], phones, match["hint"]))
            else:
                found.append(ListItem(text))
        items[kind] = tuple(found)
    return WordList(
        lexical_set=file.path.stem.upper(),
        title=_text_field(file, "title"),
        step=_step_field(file),
        topic=_text_field(file, "topic"),
        note=_text_field(file, "note"),
        items=MappingProxyType(items),
    )


def list_files(kind: str) -> tuple[Path, ...]:
    """The files of passages, prompts or lists, in order."""
    return tuple(sorted((resource_folder("corpora") / kind).glob("*.md")))


def load_passages() -> tuple[CorpusPassage, ...]:
    """All reading passages, by key."""
    return tuple(parse_passage(read_corpus_file(path)) for path in list_files("passages"))


def load_passage(key: str = DEFAULT_PASSAGE) -> CorpusPassage:
    """One reading passage. OptionError lists the keys if there is none."""
    paths = {path.stem: path for path in list_files("passages")}
    if key not in paths:
        raise OptionError(f"passage {key!r} is unknown", f"choose one of: {', '.join(paths)}")
    return parse_passage(read_corpus_file(paths[key]))


def load_default_passage() -> Passage:
    """What is practised when the user gives no text."""
    found = load_passage()
    return Passage(text=found.text, title=found.title, source=found.key)


def load_prompts(locale: Locale = Locale.EN_US) -> tuple[Prompt, ...]:
    """All conversation prompts, by topic and step, in the words of the locale."""
    return tuple(
        prompt
        for path in list_files("prompts")
        for prompt in parse_prompts(read_corpus_file(path), locale)
    )


def find_prompts(keys: Iterable[str], locale: Locale) -> tuple[Prompt, ...]:
    """The prompts of these keys, in the words of the locale. KeyError for an unknown key."""
    known = {prompt.key: prompt for prompt in load_prompts(locale=locale)}
    return tuple(known[key] for key in keys)


def read_set(text: str) -> str:
    """The name of a lexical set, given in any case. OptionError lists the sets."""
    name = text.strip().upper()
    if name not in LEXICAL_SETS:
        known = ", ".join(LEXICAL_SETS)
        raise OptionError(f"lexical set {name!r} is unknown", f"choose one of: {known}")
    return name


def load_word_list(lexical_set: str) -> WordList:
    """The lists of a lexical set, in any case. OptionError if it is unknown."""
    name = read_set(lexical_set).lower()
    return parse_list(read_corpus_file(resource_folder("corpora") / "lists" / f"{name}.md"))


def has_set_vowel(phones: Phones, lexical_set: str) -> bool:
    """Whether the word has the vowel of the lexical set, in the set's place.

    Only the vowel with primary stress counts, or for happY, lettER and commA
    the last phoneme. Which of two merged sets (TRAP or BATH) a word is in
    can't be told from phonemes.
    """
    rule = LEXICAL_SETS[lexical_set]
    if rule.place is Place.FINAL:
        # After the accent step NURSE and lettER are ER and R.
        end = (
            -2 if len(phones) > 1 and (phones[-2].symbol, phones[-1].symbol) == ("ER", "R") else -1
        )
        return phones[end].symbol in rule.vowels and phones[end].stress == 0
    for i, phone in enumerate(phones):
        if phone.stress == 1 and phone.symbol in rule.vowels:
            if rule.place is Place.ANY:
                return True
            before_r = i + 1 < len(phones) and phones[i + 1].symbol == "R"
            # "hurry", "sorry", "story": the r of the next syllable counts too,
            # since General American has no contrast there.
            if before_r == (rule.place is Place.BEFORE_R):
                return True
    return False
