"""Which of several dictionary entries a sheet uses, and British forms.

CMUdict lists free variants in no particular order: "which" with w or hw,
"center" with or without its t. A sheet is read slowly and repeated often, so
one policy decides: careful reading. Say every consonant and every syllable
that careful speakers say, and nothing that only pedants say. The policy is
the list RULES; words where it goes wrong stand in a table.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from functools import cache
from itertools import permutations
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.accents import Accent
from drillgen.core.phones import LETTER_NAMES, PHONE_TABLE, format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phone, Phones
from drillgen.speech.pronounce.compare import VOWEL, main_stress, swap_skeleton


class VariantChoice(NamedTuple):
    """Which entry, and which rule decided."""

    position: int
    """Index into the entries."""

    rule: str
    """Name of the rule, WORD_TABLE, or FIRST_ENTRY."""


class Entry(NamedTuple):
    """An entry of the dictionary, and what the rules ask about it."""

    phones: Phones
    symbols: tuple[str, ...]
    skeleton: tuple[str, ...]
    strongest: str
    """Its strongest vowel. CMUdict wavers between some of them."""


class Contest(NamedTuple):
    """Two entries of a word, of which one may have to go."""

    word: str
    entry: Entry
    other: Entry
    accent: Accent


class VariantRule(NamedTuple):
    """One step of the policy."""

    name: str
    why: str
    loses: Callable[[Contest], bool]
    """Whether `entry` goes because there is `other`."""

    spelled: str = ""
    """What must stand in the word: a regular expression."""


FIRST_ENTRY: Final = "first entry"
WORD_TABLE: Final = "word table"


def _subsequence(short: tuple[str, ...], long: tuple[str, ...]) -> bool:
    rest = iter(long)
    return all(symbol in rest for symbol in short)


def _read_entry(phones: Phones) -> Entry:
    symbols = tuple([phone.symbol for phone in phones])
    vowels = [phone.symbol for phone in phones if phone.stress is not None]
    vowel = vowels[main_stress(phones) or 0] if vowels else ""
    # Before an r and in free variation CMUdict wavers between these.
    strongest = {"AO": "AA", "IY": "IH", "UW": "UH"}.get(vowel, vowel)
    return Entry(phones, symbols, swap_skeleton(phones), strongest)


def _same_reading(a: Entry, b: Entry) -> bool:
    """Whether two entries can be forms of one reading, not two words.

    Their strongest vowel is the same, so "MIN-it" and "my-NOOT" are never
    taken for a short and a long form.
    """
    return a.strongest == b.strongest


_PLAIN_VOWELS: Final = frozenset("aeiouy")


def _letters(contest: Contest) -> bool:
    word = contest.word
    # "tv" has no vowel letter: its letters are all there is to say.
    if _PLAIN_VOWELS.isdisjoint(word) or not LETTER_NAMES.keys() >= set(word):
        return False
    names = tuple(" ".join(LETTER_NAMES[letter] for letter in word).split())
    return contest.entry.symbols == names != contest.other.symbols


def _written_out(contest: Contest) -> bool:
    # No word has two phones more than letters, unless it stands for a longer one.
    limit = len(contest.word) + 2
    return len(contest.entry.phones) > limit >= len(contest.other.phones)


def _hw(contest: Contest) -> bool:
    symbols = contest.entry.symbols
    plain = _without(symbols, "HH", before=frozenset({"W"}))
    return plain == contest.other.symbols != symbols


def _without(
    symbols: tuple[str, ...],
    dropped: str,
    *,
    before: frozenset[str] = frozenset(),
    after: frozenset[str] = frozenset(),
) -> tuple[str, ...]:
    """The symbols without each `dropped` that has such a neighbour."""
    if dropped not in symbols:
        return symbols
    padded = ("", *symbols, "")
    return tuple(
        symbol
        for left, symbol, right in zip(padded, symbols, padded[2:], strict=False)
        if symbol != dropped or not (right in before or left in after)
    )


_CORONAL: Final = frozenset({"T", "D", "N", "S", "Z", "TH", "L"})
_PALATAL: Final = frozenset({"CH", "JH", "SH", "ZH"})


def _yod(contest: Contest) -> bool:
    a, b = contest.entry.skeleton, contest.other.skeleton
    # Only one of the two has the y; in an accent without it after coronals that one goes.
    with_yod, plain = (b, a) if contest.accent.yods else (a, b)
    return (
        _same_reading(contest.entry, contest.other)
        and _without(with_yod, "Y", after=_CORONAL) == plain != with_yod
    )


def _palatal_yod(contest: Contest) -> bool:
    skeleton = contest.entry.skeleton
    return _without(skeleton, "Y", after=_PALATAL) == contest.other.skeleton != skeleton


def _metathesis(contest: Contest) -> bool:
    at = contest.word.find("r", 0, 3)
    if at < 0 or not _PLAIN_VOWELS.isdisjoint(contest.word[:at]):
        return False
    here, there = contest.entry.symbols[at : at + 1], contest.other.symbols[at : at + 1]
    return here == ("ER",) and there == ("R",)


def _ng(contest: Contest) -> bool:
    entry, other = contest.entry.symbols, contest.other.symbols
    return entry[-1] == "N" and other[-1] == "NG" and entry[:-1] == other[:-1]


def _hard_g(contest: Contest) -> bool:
    symbols = contest.entry.symbols
    return _without(symbols, "G", after=frozenset({"NG"})) == contest.other.symbols != symbols


def _passing_k(contest: Contest) -> bool:
    if "TH" not in contest.entry.skeleton:
        return False
    entry, other = (" ".join(e.skeleton) for e in (contest.entry, contest.other))
    return entry.replace("NG K TH", "NG TH") == other != entry


def _silent_l(contest: Contest) -> bool:
    skeleton = contest.entry.skeleton
    return _without(skeleton, "L", before=frozenset("MK")) == contest.other.skeleton != skeleton


def _shire(contest: Contest) -> bool:
    return contest.other.symbols[-2:] == ("SH", "ER") != contest.entry.symbols[-2:]


def _cloth(contest: Contest) -> bool:
    entry, other = contest.entry.symbols, contest.other.symbols
    return len(entry) == len(other) and (
        {(a, b) for a, b in zip(entry, other, strict=True) if a != b} == {("AA", "AO")}
    )


def _one_vowel_more(contest: Contest) -> bool:
    longer, shorter = contest.entry.skeleton, contest.other.skeleton
    return (
        len(longer) == len(shorter) + 1
        and longer.count(VOWEL) == shorter.count(VOWEL) + 1
        and _subsequence(shorter, longer)
    )


def _shorter(contest: Contest) -> bool:
    short, long = contest.entry.skeleton, contest.other.skeleton
    if len(short) >= len(long) or not _same_reading(contest.entry, contest.other):
        return False
    at = 0
    for i, symbol in enumerate(long):
        if at < len(short) and short[at] == symbol:
            at += 1
        elif not _may_drop(contest.word, contest.other.phones, long, i):
            return False
    return at == len(short)


def _may_drop(word: str, phones: Phones, long: tuple[str, ...], i: int) -> bool:
    """Whether fast speech drops this sound, so that careful speech has it.

    Otherwise it is no longer form but another pronunciation: a foreign name
    with its last vowel said, a y too much in "coupon".
    """
    symbol = long[i]
    before = long[i - 1] if i else ""
    after = long[i + 1] if i + 1 < len(long) else ""
    if word.endswith("s'") and i >= len(long) - 2:
        return True
    if symbol == VOWEL:
        # "fam(i)ly", "fu(e)l", "pr(o)duction", never at either end.
        return bool(before and after) and _vowel_at(phones, long, i) in _REDUCED
    if not after:
        return symbol in ("T", "D")
    if symbol == "HH":
        return after == "Y" or not before
    if symbol == "P":
        return "mp" in word and "mph" not in word
    if symbol == "W":
        return before == "K"
    return symbol != "Y" and (symbol != "G" or before == "NG")


_REDUCED: Final = frozenset({"AH0", "IH0", "ER0", "UW0", "UW2", "UH0"})


def _vowel_at(phones: Phones, skeleton: tuple[str, ...], i: int) -> str:
    """The vowel that stands at `i` in the skeleton."""
    which = skeleton[:i].count(VOWEL)
    return [str(phone) for phone in phones if phone.stress is not None][which]


RULES: Final = (
    VariantRule("not by letters", "“us” is a word, not U.S.", _letters),
    VariantRule("not written out", "“corp” is read as it stands, not “corporation”", _written_out),
    VariantRule("plain w", "most speakers say “which” like “witch” (Wells 1982, 3.2.4)", _hw),
    VariantRule("y by accent", "“new” has a y in British English only (Wells 1982, 3.1.10)", _yod),
    VariantRule("no y after ch, j, sh", "“education” with j, not j and y", _palatal_yod),
    VariantRule("r where it is written", "“present”, not “persent”", _metathesis),
    VariantRule("full -ing", "“going” ends in ng, not n", _ng),
    VariantRule(
        "no g after final ng",
        "“hanging” rhymes with “banging”: no hard g",
        _hard_g,
        "ng(?:'?s|ing|ed|ly|ness)?$",
    ),
    VariantRule("no k in -ngth", "“length” without the passing k", _passing_k),
    VariantRule("silent l", "“calm” and “walk” have no l", _silent_l, "[ao]l[mk]"),
    VariantRule(
        "-ically is -ik-lee",
        "nobody says four syllables in “basically”",
        _one_vowel_more,
        "ically",
    ),
    VariantRule(
        "l opens -ling, -ler",
        "“handling” like “hand” and “ling”",
        _one_vowel_more,
        "[bcdfgkpstz]l(?:ings?|er|ers'?|ists?|y)$",
    ),
    VariantRule(
        "-iring is two syllables",
        "“firing” like “fie” and “ring”",
        _one_vowel_more,
        "[iy]ring$",
    ),
    VariantRule("-shire is weak", "“Hampshire” ends like “pusher”", _shire, "shire$"),
    VariantRule(
        "cloth is no lot",
        "“cost” and “soft” as in “lost” (Wells 1982, 2.2.13)",
        _cloth,
        "o(?:ss|st|f|th|ng|gs?$|gg)|ough(?!t)",
    ),
    VariantRule("full form", "keep the consonants and syllables that fast speech drops", _shorter),
)
"""The policy, in order. What no rule decides goes to the dictionary's first."""


def choose_variant(
    word: str,
    entries: tuple[Phones, ...],
    accent: Accent,
    exceptions: Mapping[str, Phones] = MappingProxyType({}),
) -> VariantChoice:
    """The entry that suits careful reading; `entries` holds at least one.

    `exceptions` maps words to the entry that wins whatever the rules say.

    >>> from drillgen.core.accents import load_accent
    >>> from drillgen.core.phones import parse_phones
    >>> which = parse_phones("HH W IH1 CH"), parse_phones("W IH1 CH")
    >>> choose_variant("which", which, load_accent("rhotic"))
    VariantChoice(position=1, rule='plain w')
    """
    if len(entries) == 1:
        return VariantChoice(0, FIRST_ENTRY)
    wanted = exceptions.get(word)
    if wanted is not None and wanted in entries:
        return VariantChoice(entries.index(wanted), WORD_TABLE)
    alive = list(range(len(entries)))
    decided = FIRST_ENTRY
    read = list(map(_read_entry, entries))
    contests = [(i, j, Contest(word, read[i], read[j], accent)) for i, j in permutations(alive, 2)]
    for name, _, loses, spelled in RULES:
        if not re.search(spelled, word):
            continue
        losers = {i for i, _, contest in contests if loses(contest)}
        # Entries that beat each other in a ring would all go: the rule has no say then.
        if losers and len(losers) < len(alive):
            alive = [i for i in alive if i not in losers]
            contests = [row for row in contests if losers.isdisjoint(row[:2])]
            decided = name
        if len(alive) == 1:
            break
    return VariantChoice(alive[0], decided)


class Variants:
    """The policy with its table of words that have a choice of their own."""

    __slots__ = ("_choices",)

    def __init__(self, choices: Mapping[str, Phones]) -> None:
        """Take the table, word → pronunciation (before the accent step)."""
        self._choices: Final = dict(choices)

    @classmethod
    def load(cls) -> Variants:
        """The table of the package."""
        choices = _read_words("variant_choices.tsv")
        return cls({word: parse_phones(phones) for word, phones in choices.items()})

    def choose(self, word: str, entries: tuple[Phones, ...], accent: Accent) -> VariantChoice:
        """As `choose_variant`, with the table of words."""
        return choose_variant(word, entries, accent, self._choices)

    def localize(self, word: str, phones: Phones, accent: Accent) -> Phones:
        """The accent's own form of a word; else `phones` itself.

        For words from the dictionary and words derived from them, never for
        the user's own overrides. A homograph's reading that context chose
        goes through `localize_reading` instead.
        """
        return self.find_own(word, accent) or local_form(word, phones, accent.forms)

    def find_own(self, word: str, accent: Accent) -> Phones | None:
        """What the tables of an accent have for a word."""
        for table in accent.words:
            if own := _read_words(table).get(word):
                return parse_phones(own)
        return None

    def localize_reading(self, word: str, phones: Phones, accent: Accent) -> Phones:
        """The accent's own form of one reading of a homograph; else what its rules make of it."""
        for table in accent.readings:
            if own := _read_readings(table).get((word, format_phones(phones))):
                return parse_phones(own)
        return local_form(word, phones, accent.forms)


@cache
def _read_readings(table: str) -> Mapping[tuple[str, str], str]:
    return {(word, american): said for word, american, said, *_ in read_table(table)}


@cache
def _read_words(table: str) -> Mapping[str, str]:
    return {word: phones for word, phones, *_ in read_table(table)}


_YOD_AFTER: Final = MappingProxyType(
    {letter.upper(): re.compile(f"{letter}+(?=[uo]|ew|eu|wo)") for letter in "tdn"}
)
"""The letters of a consonant that stand before a spelling of the GOOSE vowel."""


def local_form(word: str, phones: Phones, forms: Collection[str]) -> Phones:
    """The regular differences of an accent's words from the American form.

    `forms` are those of the accent's profile, all of them British.

    Before the accent step, so r is still there. Sources: Wells, Accents of
    English (1982), 3.1.10 (yod dropping) and 3.3 (RP); Longman Pronunciation
    Dictionary, entries "new", "tune", "secretary", "territory", "version".

    - "yod": a y after t, d and n before the GOOSE vowel spelled u, ew, eu: "new".
      After s, z, l and th it is gone or wavers in present RP ("suit",
      "lute"), so only words in the table have it.
    - "weak -ary": -ary, -ery, -ory, -mony, -berry, -bury without a second stress: "secretary".
    - "endings": the vowel of PRICE in "globalization", a schwa in "imitative", the vowel of
      NURSE in "Hamburg".
    - "-rsion": -rsion with sh: "version".
    - "prefixes": the vowel of KIT in "embark" and "exceed", schwa in "advice".
    - "un-": the vowel of STRUT in "unclear".

    >>> from drillgen.core.phones import format_phones, parse_phones
    >>> student = parse_phones("S T UW1 D AH0 N T")
    >>> format_phones(local_form("student", student, ["yod"]))
    'S T Y UW1 D AH0 N T'
    >>> secretary = parse_phones("S EH1 K R AH0 T EH2 R IY0")
    >>> format_phones(local_form("secretary", secretary, ["weak -ary"]))
    'S EH1 K R AH0 T AH0 R IY0'
    """
    if not forms:
        return phones
    symbols = tuple([phone.symbol for phone in phones])
    british = phones
    if "yod" in forms and ("UW" in symbols or "UH" in symbols):
        british = _add_yods(word, british)
    if "weak -ary" in forms and word.endswith(_WEAK_ENDS):
        british = _weaken(british)
    if "endings" in forms and (ending := _ENDING.search(word)):
        british = _mend_ending(british, ending[1])
    if "-rsion" in forms and "ZH" in symbols and "rsion" in word:
        british = tuple([PHONE_TABLE["SH"] if p.symbol == "ZH" else p for p in british])
    if "prefixes" in forms and not phones[0].stress and symbols[:2] in _PREFIXES:
        british = (PHONE_TABLE[_PREFIXES[symbols[:2]]], *british[1:])
    if "un-" in forms and word.startswith("un") and phones[0] == PHONE_TABLE["AH0"]:
        british = (PHONE_TABLE["AH2"], *british[1:])
    return british


_PREFIXES: Final[Mapping[tuple[str, ...], str]] = MappingProxyType(
    {
        **{("EH", consonant): "IH0" for consonant in ("N", "M", "K", "G", "S")},
        ("AE", "D"): "AH0",
    }
)


def _add_yods(word: str, phones: Phones) -> Phones:
    said: list[Phone] = []
    at = 0
    for i, phone in enumerate(phones):
        spelled = _YOD_AFTER.get(phones[i - 1].symbol) if i else None
        if spelled and phone.symbol in ("UW", "UH"):
            found = spelled.search(word, at)
            if found is None:
                return (*said, *phones[i:])
            at = found.end()
            # A final u is foreign or has its y already: "Hindu", "menu".
            if word.startswith(("u", "ew", "eu"), at) and word[at:] != "u":
                said.append(PHONE_TABLE["Y"])
        said.append(phone)
    return tuple(said)


_ENDING: Final = re.compile("(i[sz]ation|ative|burg)(?:s|al|ly|ally|ness|'s)?$")

_ENDINGS: Final[Mapping[str, tuple[str, tuple[str, ...], str]]] = MappingProxyType(
    {
        "ization": ("IH0 AH0", ("Z", "EY", "SH"), "AY0"),
        "isation": ("IH0 AH0", ("Z", "EY", "SH"), "AY0"),
        "ative": ("EY2 EY0", ("T",), "AH0"),
        "burg": ("ER0", ("G",), "ER2"),
    }
)
"""Ending → the vowels that go, what follows them, and what they become."""


def _mend_ending(phones: Phones, ending: str) -> Phones:
    old, rest, new = _ENDINGS[ending]
    for i in range(len(phones) - len(rest) - 1, 0, -1):
        following = tuple([phone.symbol for phone in phones[i + 1 : i + 1 + len(rest)]])
        if following == rest and str(phones[i]) in old.split():
            return (*phones[:i], PHONE_TABLE[new], *phones[i + 1 :])
    return phones


_FULL: Final = frozenset({"EH", "AO", "OW"})
_WEAK_ENDS: Final = (
    *("ary", "aries", "ery", "eries", "ory", "ories", "mony", "monies"),
    *("berry", "berries", "bury"),
)


def _weaken(phones: Phones) -> Phones:
    """The last vowel but one loses its secondary stress and becomes a schwa."""
    vowels = [i for i, phone in enumerate(phones) if phone.stress is not None]
    if len(vowels) < 3:
        return phones
    i = vowels[-2]
    before = phones[vowels[-3]].stress
    # A schwa there needs a stress before it ("library" keeps its EH only without one).
    if phones[i].stress == 1 or phones[i].symbol not in _FULL or before == phones[i].stress == 0:
        return phones
    return (*phones[:i], PHONE_TABLE["AH0"], *phones[i + 1 :])
