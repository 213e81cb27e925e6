"""Pronounce forms of known words: inflections, affixes, compounds, respellings.

The voicing of the endings -s and -ed follows Quirk, Greenbaum, Leech & Svartvik,
A Comprehensive Grammar of the English Language (1985), sections 3.5 to 3.6 and
5.80; the spelling rules (dropped e, doubled consonant, y to i) sections 3.7 to
3.10. How sure each kind of derivation is, was measured on CMUdict with the
derived word itself left out (bench/holdout.py prints the table).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product
from math import exp, log
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.phones import parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Origin, Phone, Phones, Pronunciation
from drillgen.speech.pronounce.compare import swap_skeleton

MAX_DEPTH: Final = 2
"""A form may be built on a form ("boathouses"), but no deeper."""

LEAST_CONFIDENCE: Final = 0.93
"""Less sure derivations are left to the predictor."""

LEAST_COMPOUND: Final = 0.96
"""Compounds must be surer: on the others the predictor is right more often."""

SIBILANTS: Final = frozenset({"S", "Z", "SH", "ZH", "CH", "JH"})
VOICELESS: Final = frozenset({"P", "T", "K", "F", "TH", "S", "SH", "CH", "HH"})


class Derived(NamedTuple):
    """A way to read a word from other words."""

    readings: tuple[Phones, ...]
    """Best first, distinct."""

    confidence: float
    note: str
    kind: str
    """Name of the rule, such as "-ed"; empty: the word itself is known."""

    base: str = ""
    """The known word that it is built on (the first one of a compound)."""


Known = Callable[[str], Derived | None]
"""What is known of a word: its entries, or a derivation of it."""


class Part(NamedTuple):
    """How a word behaves inside longer words of CMUdict."""

    first_hits: int
    """Times that it begins a word and the rest is a word, and the joined phones are right."""

    first_tries: int
    second_hits: int
    second_tries: int


@dataclass(frozen=True, slots=True)
class Tables:
    """What the rules know besides the dictionary."""

    words: Mapping[str, tuple[str, str]]
    """Phones and note of casual words, interjections and the like."""

    doubles: frozenset[str]
    """Words with a double letter that are commoner than the single-letter word."""

    parts: Mapping[str, Sequence[str]]
    """A row for each word: itself, then what its Part holds."""

    chances: Mapping[tuple[str, str], tuple[int, int]]
    """By kind and length class of the base: how often the rule was right, and used."""

    @classmethod
    def load(cls) -> Tables:
        """Read the tables of the installation."""
        return cls(
            words={word: (said, note) for word, said, note in read_table("derive_words.tsv")},
            doubles=frozenset(row[0] for row in read_table("derive_doubles.tsv")),
            parts={row[0]: row for row in read_table("derive_parts.tsv.gz")},
            chances={
                (kind, length): (int(hits), int(tries))
                for kind, length, hits, tries in read_table("derive_chances.tsv")
            },
        )

    def part(self, word: str) -> Part:
        """How a word behaves inside longer ones."""
        return Part(*map(int, self.parts[word][1:])) if word in self.parts else _UNSEEN

    def chance(self, kind: str, base: str) -> float:
        """Estimated chance that a rule is right: its record in CMUdict, smoothed."""
        hits, tries = self.chances.get((kind, length_class(base)), (0, 0))
        wide_hits, wide_tries = self.chances.get((kind, "all"), (0, 0))
        wide = (wide_hits + 0.95 * 8) / (wide_tries + 8)
        return (hits + wide * 8) / (tries + 8)


def length_class(base: str) -> str:
    """Length of a base in letters, as the table of chances groups it."""
    return "2-3" if len(base) < 4 else "6+" if len(base) > 5 else str(len(base))


_Join = Callable[[Phones, str], Phones]
"""Adds an ending to the phones of a base, given the base's spelling."""


# Endings


def add_s(base: Phones, _spelling: str = "") -> Phones:
    """Plural, third person or possessive: /ɪz/ after sibilants, /s/ or /z/ by voicing.

    >>> from drillgen.core.phones import format_phones
    >>> [format_phones(add_s(parse_phones(b))[-2:]) for b in ("B OW1 T", "S IY1", "HH AO1 R S")]
    ['T S', 'IY1 Z', 'IH0 Z']
    """
    last = base[-1].symbol
    if last in SIBILANTS:
        return (*base, Phone("IH", 0), Phone("Z"))
    return (*base, Phone("S" if last in VOICELESS else "Z"))


def add_ed(base: Phones, _spelling: str = "") -> Phones:
    """Past tense: /ɪd/ after t and d, otherwise /t/ or /d/ by voicing."""
    last = base[-1].symbol
    if last in ("T", "D"):
        return (*base, Phone("IH", 0), Phone("D"))
    return (*base, Phone("T" if last in VOICELESS else "D"))


def _plain(ending: str) -> _Join:
    phones = parse_phones(ending)
    return lambda base, _spelling: (*base, *phones)


def _vocalic(ending: str) -> _Join:
    """An ending that starts with a vowel: the schwa of a final -le gives way (handling),
    and c before i is soft (ethicist)."""
    phones = parse_phones(ending)

    def join(base: Phones, spelling: str) -> Phones:
        if (
            spelling.endswith("le")
            and len(base) > 2
            and base[-1].symbol == "L"
            and base[-2] == Phone("AH", 0)
            and base[-3].stress is None
        ):
            return (*base[:-2], base[-1], *phones)
        if spelling.endswith("c") and base[-1].symbol == "K":
            return (*base[:-1], Phone("S"), *phones)
        return (*base, *phones)

    return join


def _add_ly(base: Phones, spelling: str) -> Phones:
    """-ly: a final l merges with it (coolly), and -ical loses its schwa (radically)."""
    if base[-1].symbol == "L":
        if spelling.endswith("ical") and len(base) > 3 and base[-2] == Phone("AH", 0):
            return (*base[:-2], *parse_phones("L IY0"))
        return (*base, Phone("IY", 0))
    return (*base, *parse_phones("L IY0"))


def _say_n(base: Phones, _spelling: str) -> Phones:
    """The ending -ing as -in'."""
    return (*base[:-1], Phone("N")) if base[-1].symbol == "NG" else base


class _Suffix(NamedTuple):
    spelling: str
    join: _Join
    note: str
    drops_e: bool
    """Starts with a vowel letter: e may drop, consonants double, y turns to i."""


_JOINS: Final[Mapping[str, Callable[[str], _Join]]] = MappingProxyType(
    {
        "s": lambda _: add_s,
        "ed": lambda _: add_ed,
        "n": lambda _: _say_n,
        "ly": lambda _: _add_ly,
        "plain": _plain,
        "vocalic": _vocalic,
    }
)
"""How a suffix joins, by its name in affixes.tsv."""


class _Affixes(NamedTuple):
    """What affixes.tsv has."""

    suffixes: Mapping[str, tuple[_Suffix, ...]]
    """By their last letter, in the order in which they are tried."""

    prefixes: Mapping[str, Phones]


@cache
def _load_affixes() -> _Affixes:
    suffixes: dict[str, tuple[_Suffix, ...]] = {}
    prefixes = {}
    for how, spelling, said, note in read_table("affixes.tsv"):
        if how == "prefix":
            prefixes[spelling] = parse_phones(said)
            continue
        suffix = _Suffix(spelling, _JOINS[how](said), note, how in ("ed", "n", "vocalic"))
        suffixes[spelling[-1]] = (*suffixes.get(spelling[-1], ()), suffix)
    return _Affixes(suffixes, prefixes)


def find_bases(word: str, suffix: str, changes: bool) -> Iterator[str]:
    """Spellings of the base of a word that ends in `suffix`, likeliest first.

    >>> list(find_bases("hopping", "ing", True))
    ['hop', 'hopp', 'hoppe']
    >>> list(find_bases("happiness", "ness", False))
    ['happi', 'happy']
    """
    base = word[: -len(suffix)]
    if len(base) < 2:
        return
    if not changes:
        yield base
        if base[-1] == "i":
            yield base[:-1] + "y"
        return
    if len(base) > 3 and base[-1] == base[-2] and base[-1] in "bdfgklmnprstvz":
        # Words in -ff, -ll, -ss and -zz keep both letters (calling); others drop one, and so does
        # British "modelling", whatever surname is spelled so.
        keep = base[-1] in "fklsz" and not _LONG_IN_LL.search(base)
        yield base if keep else base[:-1]
        yield base[:-1] if keep else base
        yield base + "e"
        return
    # Before e, i or y a plain c or g would be soft: the base ended in -ce, -ge or -ck.
    soft = base[-1] in "cg" and not base.endswith("ng") and suffix[0] in "eiy"
    hard = soft and suffix not in ("ist", "ism", "ize")
    # A single consonant after a single vowel would have doubled (hoping: hope, not hop).
    if re.search(r"(^|[^aeiou])[aeiou][bdgklmnprtvz]$", base) or base[-1] in "cgsuvz":
        yield base + "e"
        if not hard:
            yield base
    else:
        yield base
        yield base + "e"
    if base[-1] == "i":
        yield base[:-1] + "y"
    if base.endswith("ck"):
        yield base[:-1]


_LONG_IN_LL: Final = re.compile("[aeiouy][^aeiouy]+[aeiou]ll$")


def _bases_of(word: str, suffix: _Suffix) -> Iterator[str]:
    if suffix.spelling == "s":
        # A word in -ss, -us or -is is hardly ever a form with -s, but "okapis" is.
        if word[-2] not in "su'" and (word[-2] != "i" or len(word) > 5):
            yield word[:-1]
    elif suffix.spelling == "x":
        if word.endswith(("eaux", "ieux")):
            yield word[:-1]
    elif suffix.spelling == "es":
        if word.endswith("ies") and len(word) > 4:
            yield word[:-3] + "y"
        elif re.search(r"(s|x|z|ch|sh|o)es$", word):
            yield word[:-2]
            if word.endswith(("sses", "zzes")):
                yield word[:-3]
    elif suffix.spelling == "ally":
        if word.endswith("ically"):
            yield word[:-4]
    elif suffix.spelling == "in'":
        if word.endswith("in'"):
            yield word[:-1] + "g"
    elif suffix.spelling == "y":
        for base in find_bases(word, "y", True):
            # -y makes adjectives of words that end in a consonant or a silent e.
            if base[-1] not in "aiouy":
                yield base
    else:
        yield from find_bases(word, suffix.spelling, suffix.drops_e)


def _derive_suffixed(word: str, known: Known, tables: Tables) -> Iterator[Derived]:
    for suffix in _load_affixes().suffixes.get(word[-1:], ()):
        if not word.endswith(suffix.spelling) or len(word) - len(suffix.spelling) < 2:
            continue
        kind = "-" + suffix.spelling
        for base in _bases_of(word, suffix):
            if len(base) < 3 and suffix.spelling != "'s":
                continue
            found = known(base)
            if found is None or found.kind == kind:
                continue
            yield Derived(
                _distinct(suffix.join(p, base) for p in found.readings),
                tables.chance(kind, base) * found.confidence,
                suffix.note.format(base),
                kind,
                base,
            )
            break


def _derive_possessive_of_s(word: str, known: Known, tables: Tables) -> Iterator[Derived]:
    """A bare apostrophe after -s: said like the word itself (boats')."""
    if word.endswith("s'"):
        base = word[:-1]
        found = known(base)
        if found is not None:
            yield found._replace(
                confidence=tables.chance("s'", base) * found.confidence,
                note=f"possessive of {base}",
                kind="s'",
                base=base,
            )


def _derive_prefixed(word: str, known: Known, tables: Tables) -> Iterator[Derived]:
    for prefix, start in _load_affixes().prefixes.items():
        if not word.startswith(prefix):
            continue
        base = word[len(prefix) :].lstrip("-")
        whole = known(word[:-1]) if word.endswith("s") else None
        if len(base) < 4 or (whole and not whole.kind):
            continue  # "ultrasounds" are more than one ultrasound.
        found = known(base)
        if found is None:
            continue
        # One s is said where two meet (dissatisfy, misspell).
        merge = start[-1].symbol == "S"
        yield Derived(
            _distinct(
                (*(start[:-1] if merge and p[0] == start[-1] else start), *p)
                for p in found.readings
            ),
            # A hyphen leaves no doubt that it is a prefix.
            (0.98 if "-" in word else tables.chance(prefix + "-", base)) * found.confidence,
            f"{prefix}- + {base}",
            prefix + "-",
            base,
        )


# Contractions


def _after_vowel(full: str, short: str) -> _Join:
    """`short` after a vowel, `full` after a consonant."""
    a, b = parse_phones(full), parse_phones(short)
    return lambda base, _spelling: (*base, *(b if base[-1].stress is not None else a))


def _add_d(base: Phones, _spelling: str) -> Phones:
    vowel = base[-1].stress is not None
    return (*base, Phone("D")) if vowel else (*base, Phone("IH", 0), Phone("D"))


def _add_re(base: Phones, _spelling: str) -> Phones:
    return base if base[-1].symbol == "ER" else (*base, Phone("ER", 0))


_CONTRACTIONS: Final = (
    ("'ll", _after_vowel("AH0 L", "L"), "will"),
    ("'ve", _after_vowel("AH0 V", "V"), "have"),
    ("'d", _add_d, "had or would"),
    ("n't", _plain("AH0 N T"), "not"),
    ("'re", _add_re, "are"),
    ("'m", _after_vowel("AH0 M", "M"), "am"),
    ("'st", _plain("S T"), "the ending of thou"),
    ("'em", _plain("AH0 M"), "them"),
)


def _derive_contracted(word: str, known: Known, _tables: Tables) -> Iterator[Derived]:
    for ending, join, full in _CONTRACTIONS if "'" in word else ():
        base = word[: -len(ending)]
        found = known(base) if base and word.endswith(ending) else None
        if found is not None:
            yield Derived(
                _distinct(join(p, base) for p in found.readings),
                # The irregular ones are in the dictionary, so its record says little.
                0.97 * found.confidence,
                f"{base} + {full}, contracted",
                ending,
                base,
            )


_ELIDED: Final = re.compile(r"([a-z]+[^aeiou'])'([dlmnr][a-z]*)")
_NO_ELISION: Final = frozenset({"ll", "m", "re"})


def _derive_elided(word: str, known: Known, _tables: Tables) -> Iterator[Derived]:
    """An apostrophe for a vowel, as in verse: "touch'd", "heav'n", "wand'ring", "th'expense"."""
    if word.startswith("th'") and len(word) > 5:
        found = known(word[3:])
        if found is not None and found.readings[0][0].stress is not None:
            readings = _distinct((Phone("DH"), *phones) for phones in found.readings)
            yield Derived(readings, 0.97, f"the + {word[3:]}, elided", "elided", word[3:])
    match = _ELIDED.fullmatch(word)
    if match is None or match[2] in _NO_ELISION:
        return
    for letter in "eoai":
        full = f"{match[1]}{letter}{match[2]}"
        found = known(full)
        if found is not None and (not found.kind or (match[2] != "d" and found.kind in _MILD)):
            readings = _distinct(_elide(p, match[2]) for p in found.readings)
            # "Int'l" has no vowel of "intel" to leave out.
            if match[2][0] in "dr" or readings[0] != found.readings[0]:
                yield Derived(readings, 0.98, f"{full}, elided", "elided", full)
            return


def _elide(phones: Phones, rest: str) -> Phones:
    """Without the weak vowel for which the apostrophe before `rest` stands, where it has one:
    "heaven" before "n", "wandering" before "ring", "beloved" before "d"."""
    kept = list(phones)
    for at in range(len(phones) - 2, 0, -1):
        phone, after = phones[at], phones[at + 1]
        if rest[0] == "r" and phone == Phone("ER", 0) and after.stress is not None:
            kept[at] = Phone("R")
            break
        if phone.stress == 0 and phone.symbol in ("AH", "IH") and after.symbol == rest[0].upper():
            if phones[at - 1].symbol not in ("T", "D") or after.symbol != "D":
                del kept[at]
            break
    return tuple(kept)


# Other spellings of the same word


def _derive_listed(word: str, _known: Known, tables: Tables) -> Iterator[Derived]:
    row = tables.words.get(word)
    if row is not None:
        yield Derived((parse_phones(row[0]),), 1.0, row[1], "table", word)


def _derive_elongated(word: str, known: Known, tables: Tables) -> Iterator[Derived]:
    """A letter three times or more: "sooo", "yesss"."""
    pieces = _RUN.split(word)
    fixed, runs = pieces[0::3], pieces[2::3]
    if not runs:
        return
    best: tuple[tuple[bool, int], str, Derived] | None = None
    # One letter or two; of the fifth and later ones, one.
    for counts in product(*[(1, 2) if i < 4 else (1,) for i in range(len(runs))]):
        shorter = fixed[0] + "".join(
            letter * count + rest
            for letter, count, rest in zip(runs, counts, fixed[1:], strict=True)
        )
        found = known(shorter)
        if shorter in tables.words:
            # Listed interjections have a vowel to sing on ("hmm").
            found = next(_derive_listed(shorter, known, tables))
        if found is not None and found.kind != "compound":
            # "goood" is "good", though "god" is a word too; otherwise single letters.
            rank = (shorter in tables.doubles, -len(shorter))
            if best is None or rank > best[0]:
                best = rank, shorter, found
    if best is not None:
        _rank, shorter, found = best
        yield found._replace(
            confidence=0.95 * found.confidence,
            note=f"{shorter}, drawn out",
            kind="drawn out",
            base=shorter,
        )


_RUN: Final = re.compile(r"(([a-z])\2{2,})")


@cache
def _load_spellings() -> tuple[re.Pattern[str], tuple[tuple[str, ...], ...]]:
    """British and American spellings of one sound, as patterns and what they become; and one
    pattern for all of them."""
    rows = read_table("spellings.tsv")
    return re.compile("|".join(f"(?:{pattern})" for pattern, _ in rows)), rows


def _derive_respelled(word: str, known: Known, tables: Tables) -> Iterator[Derived]:
    plain = word
    if not word.isascii():
        plain = "".join(c for c in unicodedata.normalize("NFKD", word) if c.isascii())
    found = known(plain) if plain and plain != word else None
    if found is not None:
        yield found._replace(
            confidence=0.97 * found.confidence,
            note=f"{plain}, with accents",
            kind="accents",
            base=plain,
        )
    any_spelling, spellings = _load_spellings()
    if len(word) < 5 or not any_spelling.search(word):
        return
    for pattern, instead in spellings:
        other = re.sub(pattern, instead, word)
        kind = "spelling " + re.sub(r"\\\d", "", instead)
        found = known(other) if other != word else None
        if found is not None and (not found.kind or found.kind in _MILD):
            yield found._replace(
                confidence=tables.chance(kind, other) * found.confidence,
                note=f"another spelling of {other}",
                kind=kind,
                base=other,
            )


_MILD: Final = frozenset({"-s", "-es", "-'s", "-ed", "-ing", "-er", "-ers", "-ful", "-able"})
"""Endings that a respelled word may have on top."""


# Compounds

_UNSEEN: Final = Part(0, 0, 0, 0)

SPLIT_WEIGHTS: Final = (0.936, 0.923, 0.038, 0.348, 0.114, 0.014)
SPLIT_CONSTANT: Final = -0.676
"""Fitted by tools/make_derive_tables.py."""


def split_features(a: Part, b: Part, first: int, second: int) -> tuple[float, ...]:
    """What `rate_split` looks at; `first` and `second` are lengths in letters."""

    def odds(hits: int, tries: int) -> float:
        return log((hits + 0.6) / (tries - hits + 0.4))

    return (
        odds(a.first_hits, a.first_tries),
        odds(b.second_hits, b.second_tries),
        float(a.first_tries == 0),
        float(b.second_tries == 0),
        min(first, 8) / 4.0,
        min(second, 8) / 4.0,
    )


def rate_split(first: str, second: str, tables: Tables) -> float:
    """Estimated chance, 0 to 1, that the two words joined are said as two words.

    A logistic model of how often each part was right in CMUdict (the training
    part of tools/split_families.py), smoothed.
    """
    a, b = tables.part(first), tables.part(second)
    features = split_features(a, b, len(first), len(second))
    score = SPLIT_CONSTANT + sum(w * x for w, x in zip(SPLIT_WEIGHTS, features, strict=True))
    return 1.0 / (1.0 + exp(-score))


def join_words(first: Phones, second: Phones) -> Phones:
    """A compound: main stress on the first part, a lesser one on the second."""
    lesser = tuple(Phone(p.symbol, 2) if p.stress == 1 else p for p in second)
    return (*first, *lesser)


_LONGEST_COMPOUND: Final = 64
"""Nobody writes longer words together; to try every cut of a longer row would take long."""


def _derive_compound(word: str, known: Known, tables: Tables) -> Iterator[Derived]:
    if "-" in word:
        pieces = [piece for piece in word.split("-") if piece]
        if pieces and pieces[0] in _load_affixes().prefixes:
            return
        found = [f for f in map(known, pieces) if f is not None]
        if len(found) == len(pieces) and len(found) > 1:
            phones = found[0].readings[0]
            confidence = 0.98 * found[0].confidence
            for part in found[1:]:
                phones = join_words(phones, part.readings[0])
                confidence *= part.confidence
            yield Derived((phones,), confidence, " + ".join(pieces), "hyphen", pieces[0])
        return
    if len(word) > _LONGEST_COMPOUND:
        return
    parts = tables.parts
    for cut in range(len(word) - 3, 2, -1):
        first, second = word[:cut], word[cut:]
        if first not in parts and second not in parts:
            # Two words that never were parts don't come near the limit.
            continue
        chance = rate_split(first, second, tables)
        # Endings and prefixes that look like words are said otherwise (-able, -some).
        if chance < LEAST_COMPOUND or _is_affix(first, second):
            continue
        a, b = known(first), known(second)
        if a is not None and b is not None and not (a.kind and b.kind):
            yield Derived(
                _distinct(join_words(p, q) for p in a.readings for q in b.readings),
                chance * a.confidence * b.confidence,
                f"{first} + {second}",
                "compound",
                first,
            )


def _is_affix(first: str, second: str) -> bool:
    """Whether one of two parts is a prefix or a suffix."""
    suffixes, prefixes = _load_affixes()
    return first in prefixes or any(second == s.spelling for s in suffixes.get(second[-1], ()))


# All together


def _distinct(readings: Iterator[Phones]) -> tuple[Phones, ...]:
    """Without doubles; those that differ after the swap come first."""
    seen: set[tuple[str, ...]] = set()
    fresh: list[Phones] = []
    others: list[Phones] = []
    for phones in dict.fromkeys(readings):
        skeleton = swap_skeleton(phones)
        (others if skeleton in seen else fresh).append(phones)
        seen.add(skeleton)
    return (*fresh, *others)


RULES: Final = (
    _derive_listed,
    _derive_elided,
    _derive_contracted,
    _derive_possessive_of_s,
    _derive_suffixed,
    _derive_prefixed,
    _derive_respelled,
    _derive_elongated,
    _derive_compound,
)
"""Every way to build a word, in the order in which ties are settled."""


def has_vowel(phones: Phones) -> bool:
    """Whether there is anything to swap.

    Interjections that CMUdict writes without a vowel ("hm", "hmm", "hmmm",
    "mm") have one in derive_words.tsv, which goes first for them. "Sh" and
    "shh" have none in either: they are only consonants, and right so.
    """
    return any(phone.stress is not None for phone in phones)


class Deriver:
    """Pronounces forms of known words.

    `entries` gives the pronunciations of a word in lower case, best first, or
    an empty tuple.
    """

    def __init__(
        self, entries: Callable[[str], tuple[Phones, ...]], tables: Tables | None = None
    ) -> None:
        self._entries = entries
        self._tables = tables if tables is not None else Tables.load()

    def find(self, word: str, depth: int = MAX_DEPTH) -> tuple[Derived, ...]:
        """All derivations of a word in up to `depth` steps, surest first, however doubtful."""
        return self._find(word.replace("’", "'"), depth)

    def _find(self, word: str, depth: int) -> tuple[Derived, ...]:
        def known(base: str) -> Derived | None:
            readings = self._entries(base)
            if readings and base in self._tables.words and not has_vowel(readings[0]):
                # "Hmm" is HH M in CMUdict: there would be nothing to swap.
                return next(_derive_listed(base, known, self._tables))
            if readings:
                return Derived(readings, 1.0, "", "", base)
            if depth <= 1 or len(base) < 3:
                return None
            deeper = self._find(base, depth - 1)
            return deeper[0] if deeper else None

        found = [derived for rule in RULES for derived in rule(word, known, self._tables)]
        if len(found) < 2:
            return tuple(found)
        # Rules that say the same bear each other out: "levelling" is no "Lev" and "Elling".
        doubts: dict[Phones, float] = {}
        for derived in found:
            said = derived.readings[0]
            doubts[said] = doubts.get(said, 1.0) * (1.0 - derived.confidence)
        return tuple(sorted(found, key=lambda d: (doubts[d.readings[0]], -d.confidence)))

    def derive(self, word: str) -> Pronunciation | None:
        """The surest derivation of a word; None if no derivation is sure enough."""
        found = self.find(word)
        if not found or found[0].confidence < LEAST_CONFIDENCE:
            return None
        best = found[0]
        return Pronunciation(
            word,
            best.readings[0],
            Origin.DERIVED,
            round(best.confidence, 3),
            best.readings[1:],
            best.note,
        )


def derive(word: str, entries: Callable[[str], tuple[Phones, ...]]) -> Pronunciation | None:
    """Pronounce one word; for many words keep a `Deriver`, which reads its tables once."""
    return Deriver(entries).derive(word)
