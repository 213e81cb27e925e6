"""Which lexical set a vowel of the dictionary is in.

General American has one vowel where other accents have two or three: AA in LOT,
PALM and START, AE in TRAP and BATH, AO in THOUGHT, CLOTH, NORTH and FORCE. What
follows tells some of them apart, the letters tell most others ("o" is LOT, "a" is
PALM), and words that go neither way stand in drillgen/data/lexical_sets.tsv. Sets:
Wells, Accents of English (1982), chapter 2; the rules of spelling are ours.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cache
from typing import Final

from drillgen.core.phones import VOWELS
from drillgen.core.resources import read_table
from drillgen.core.values import Phones

Spell = Callable[[str, Phones], tuple[tuple[int, int], ...]]
"""Where in the word the letters of each phone begin and end."""

_KEEPS_KIT: Final = frozenset({"K", "G", "NG", "SH", "CH", "JH", "ZH"})
"""Before these a weak KIT stays what it is in all accents (Wells 1982, 8.2.3)."""

_TOLD: Final = frozenset({"IH", "EH", "AA", "AO", "AH", "ER"})
"""Vowels whose set the letters may have to tell."""

_TOLD_WITH_STRESS: Final = frozenset({"ER", "IY"})

_BEFORE_R: Final = {
    "AE": "SQUARE",
    "IY": "NEAR",
    "IH": "NEAR",
    "EH": "SQUARE",
    "AA": "START",
    "AO": "NORTH",
    "OW": "FORCE",
    "UH": "CURE",
    "UW": "CURE",
}


@cache
def load_set_words() -> Mapping[str, Mapping[str, str]]:
    """Dictionary vowel → word → lexical set, of the words that spelling doesn't tell."""
    found: dict[str, dict[str, str]] = {}
    for symbol, name, words in read_table("lexical_sets.tsv"):
        found.setdefault(symbol, {}).update(dict.fromkeys(words.split(" "), name))
    return found


def find_set(word: str, phones: Phones, i: int, spell: Spell) -> str:
    """The lexical set of the vowel at `i` of a pronunciation as the dictionary has it."""
    symbol, stress = phones[i].symbol, phones[i].stress
    after = phones[i + 1].symbol if i + 1 < len(phones) else ""
    before_r = after == "R" and symbol in _BEFORE_R
    if before_r and (i + 2 == len(phones) or phones[i + 2].stress is None):
        return _BEFORE_R[symbol]
    listed, start = _look_up(word, symbol)
    if listed and _stands_there(listed, word, start, phones, i, spell):
        return listed
    told = symbol in _TOLD or (before_r and symbol == "IY")
    if told and (stress or symbol not in _TOLD_WITH_STRESS):
        onset = phones[i - 1].symbol if i else ""
        site = _Site(word, spell(word, phones)[i][0], onset, after)
        rule = _before_r_and_vowel if before_r or symbol == "ER" else _by_letters
        if found := rule(symbol, bool(stress), site):
            return found
    if before_r and symbol in ("UH", "UW"):
        return "CURE"
    if not stress:
        if symbol == "IH" and i and after not in _KEEPS_KIT:
            return "RABBIT"
        if symbol == "IY" and i + 1 == len(phones):
            return "HAPPY"
        return {"AH": "COMMA", "ER": "LETTER"}.get(symbol, VOWELS[symbol].lexical_set)
    return VOWELS[symbol].lexical_set


class _Site:
    """A vowel in the spelling of its word."""

    __slots__ = ("after", "before", "letters", "onset", "rest", "rs")

    def __init__(self, word: str, start: int, onset: str, after: str) -> None:
        found = _VOWEL_AND_R.match(word, start)
        assert found
        self.before: Final = word[:start]
        self.letters: Final = found[1]
        self.rs: Final = found[2]
        self.rest: Final = word[found.end() :]
        self.onset: Final = onset
        self.after: Final = after


_VOWEL_AND_R: Final = re.compile("([aeiouy]*[hw]?)(r*)")


_ENDINGS: Final = re.compile(
    r"(?:'s|s'|i(?:es|ed|ers?|est)|e?s|e?d|ing|ings|e?rs?|ers?|est|y|ly|ful|less|able|ment)$"
)


_Listed = tuple[str, int]
"""A lexical set, "" where the word is not listed, and where the listed word begins."""


def _look_up(word: str, symbol: str) -> _Listed:
    """The set of a listed word or of an inflected form of one."""
    words = load_set_words().get(symbol, {})
    if word in words:
        return words[word], 0
    while True:
        for start in range(1, len(word) - 3):
            # "Witchcraft", "overcast".
            if word[start:] in words:
                return words[word[start:]], start
        shorter = _ENDINGS.sub("", word)
        if shorter == word or len(shorter) < 3:
            return "", 0
        # "Dancing", "glassier", but no "rationale" in "rationally".
        bent = (shorter + "e", shorter + "y") if word[len(shorter)] in "ei" else ()
        for listed in (shorter, *bent):
            if listed in words:
                return words[listed], 0
        word = shorter


_LONG_BEFORE: Final = {
    "BATH": frozenset({"F", "V", "S", "Z", "TH", "DH", "SH"}),
    "DANCE": frozenset({"M", "N"}),
}


def _stands_there(name: str, word: str, start: int, phones: Phones, i: int, spell: Spell) -> bool:
    """Whether a vowel is the one that a word is listed for: "bath" has none of the first in
    "sabbath", and of two in "paragraph" it is the one before a fricative."""
    if start and spell(word, phones)[i][0] < start:
        return False
    alike = [phone.symbol for phone in phones].count(phones[i].symbol)
    if alike < 2 or name not in _LONG_BEFORE:
        return True
    return i + 1 < len(phones) and phones[i + 1].symbol in _LONG_BEFORE[name]


def _by_letters(symbol: str, stressed: bool, site: _Site) -> str:
    letters, rest = site.letters, site.rest
    match symbol:
        case "AA" if letters.startswith("a"):
            if letters in ("au", "aw") or re.match("l[ltdk]", rest):
                return "THOUGHT"
            # "Watch", "what", "squad" have the vowel of LOT.
            rounded = letters == "a" and site.before.endswith(("w", "wh", "qu"))
            return "LOT" if rounded else "PALM"
        case "AO" if letters == "o" or (letters == "ou" and site.after == "F"):
            return "CLOTH"
        case "AH" if stressed:
            return "LOT" if letters == "a" and site.before.endswith("wh") else ""
        case "AH":
            if letters == "u" and site.onset == "Y":
                return "FOOT"
            weak = "VILLAGE" if site.after in _KEEPS_KIT else "ROSES"
            return weak if _is_weak_i(site) else ""
        case "IH" if letters == "a" and re.match("tes?$|tely$", rest) and not stressed:
            return "COMMA"
    return ""


def _is_weak_i(site: _Site) -> bool:
    """Rabbit, wanted, blanket, believe, village: /ɪ/ in the Longman Pronunciation Dictionary."""
    if site.letters == "a":
        return re.match("[gc]es?$", site.rest) is not None
    if site.letters == "e":
        prefix = site.before in _WEAK_PREFIXES and site.rest[:1] not in ("l", "n")
        return prefix or re.match(_WEAK_E, site.rest) is not None
    return site.letters in ("i", "y")


_WEAK_PREFIXES: Final = ("", "b", "d", "r", "pr")
_WEAK_E: Final = "(?:d|s|t|ts|st|ges?|dly|ted|ting|ters?)$"


def _before_r_and_vowel(symbol: str, stressed: bool, site: _Site) -> str:
    """Mirror is KIT, hero NEAR; merry is DRESS, marry TRAP, Mary SQUARE."""
    letters, rest = site.letters, site.rest
    single = len(site.rs) < 2
    match symbol:
        case "IY":
            # "Hearing", "query", but "rerun".
            return "" if letters == "e" and site.before in _PREFIXES_IN_E else "NEAR"
        case "IH":
            return "KIT" if not stressed or letters[:1] in ("i", "y") else "NEAR"
        case "EH":
            if letters in ("ai", "ay", "ae", "ei", "ea"):
                return "SQUARE"
            if letters != "a":
                return "DRESS"
            return "SQUARE" if single and re.match(_SQUARE_ENDS, rest) else "TRAP"
        case "AA":
            return "START" if letters == "a" else "LOT"
        case "AO":
            if letters == "o":
                return "NORTH" if single and not re.match(_LOT_ENDS, rest) else "LOT"
            return "LOT" if letters == "a" and site.before.endswith(("w", "qu")) else "NORTH"
        case "ER" if rest[:1] in _VOWEL_LETTERS:
            # "Hurry" and "courage", but "furry" and "occurring".
            plain = letters in ("u", "ou", "o") and not re.match(_NURSE_ENDS, rest)
            return "HURRY" if plain else ""
    return ""


_VOWEL_LETTERS: Final = frozenset("aeiouy")
_PREFIXES_IN_E: Final = ("r", "pr", "d", "b")
_SQUARE_ENDS: Final = "i[aeou]|ea|y|ing|ers?$|e?d$|e?s$|edn"
_LOT_ENDS: Final = "est|eign|en[ct]|egon|i[gcdt](?!or)|ang|acl"
_NURSE_ENDS: Final = "(?:ing|ed|ers?|able)$"
