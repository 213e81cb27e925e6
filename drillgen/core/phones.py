"""The phoneme inventory: ARPAbet, IPA, and of vowels lexical sets and articulation.

ARPAbet and its symbols follow CMUdict (cmudict.phones). IPA is a broad
transcription of General American as in the Handbook of the International
Phonetic Association (1999), "American English". Lexical sets are those of
Wells, Accents of English (1982).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.errors import InputError
from drillgen.core.values import Phone, Phones


class Vowel(NamedTuple):
    """A vowel phoneme of English."""

    symbol: str
    ipa: str
    lexical_set: str
    diphthong: bool = False
    rounded: bool = False
    """Lips rounded during any part of it."""

    back: bool = False
    """Back at some point of its path: right half of the vowel chart in the Handbook of the
    IPA (1999)."""

    weak: str = ""
    """IPA where it has no stress, if another."""

    long: str = ""
    """IPA where the accent makes it long, if another (see Accent.long_before)."""

    onset: str = ""
    """IPA of the start of a diphthong that can be a target."""


VOWELS: Final = MappingProxyType(
    {
        v.symbol: v
        for v in (
            Vowel("IY", "i", "FLEECE"),
            Vowel("IH", "ɪ", "KIT"),
            Vowel("EY", "eɪ", "FACE", diphthong=True, onset="e"),
            Vowel("EH", "ɛ", "DRESS"),
            Vowel("AE", "æ", "TRAP"),
            Vowel("AA", "ɑ", "LOT", back=True),
            Vowel("AO", "ɔ", "THOUGHT", rounded=True, back=True),
            Vowel("OW", "oʊ", "GOAT", diphthong=True, rounded=True, back=True),
            Vowel("UH", "ʊ", "FOOT", rounded=True, back=True),
            Vowel("UW", "u", "GOOSE", rounded=True, back=True),
            Vowel("AH", "ʌ", "STRUT", weak="ə"),
            Vowel("ER", "ɝ", "NURSE", rounded=True, weak="ɚ"),
            Vowel("AY", "aɪ", "PRICE", diphthong=True),
            Vowel("AW", "aʊ", "MOUTH", diphthong=True, rounded=True, back=True),
            Vowel("OY", "ɔɪ", "CHOICE", diphthong=True, rounded=True, back=True),
        )
    }
)

MORE_VOWELS: Final = MappingProxyType(
    {
        v.symbol: v
        for v in (
            Vowel("OH", "ɒ", "LOT", rounded=True, back=True),
            Vowel("IA", "ɪə", "NEAR", diphthong=True),
            Vowel("EA", "eə", "SQUARE", diphthong=True),
            Vowel("UA", "ʊə", "CURE", diphthong=True, rounded=True, back=True),
        )
    }
)
"""Vowels that General American has not, named as in the British dictionary BEEP
(Robinson 1996, from memory), which widens ARPAbet by them."""

SET_VOWELS: Final = MappingProxyType(
    {vowel.lexical_set: vowel.symbol for vowel in VOWELS.values()}
    | {
        name: symbol
        for symbol, names in (
            ("IY", "HAPPY"),
            ("IH", "RABBIT NEAR"),
            ("EH", "SQUARE"),
            ("AE", "BATH DANCE"),
            ("AA", "PALM START"),
            ("AO", "CLOTH NORTH FORCE"),
            ("UH", "CURE"),
            ("AH", "COMMA ROSES VILLAGE"),
            ("ER", "LETTER HURRY"),
        )
        for name in names.split()
    }
)
"""Lexical set → the vowel that General American has in it (Wells, Accents of English,
1982, chapter 2). Five sets are ours: DANCE is BATH before a nasal and a consonant; RABBIT is
KIT without stress; ROSES is merged with commA in American English, with RABBIT in others;
VILLAGE is merged with commA there and KIT elsewhere (before /k ɡ ŋ ʃ tʃ dʒ ʒ/); HURRY is
merged with NURSE there and STRUT elsewhere."""

LETTER_NAMES: Final = MappingProxyType(
    dict(
        zip(
            "abcdefghijklmnopqrstuvwxyz",
            (
                *("EY", "B IY", "S IY", "D IY", "IY", "EH F", "JH IY", "EY CH", "AY", "JH EY"),
                *("K EY", "EH L", "EH M", "EH N", "OW", "P IY", "K Y UW", "AA R", "EH S", "T IY"),
                *("Y UW", "V IY", "D AH B AH L Y UW", "EH K S", "W AY", "Z IY"),
            ),
            strict=True,
        )
    )
)
"""How Americans call the letters, in ARPAbet without stress (CMUdict's entries)."""

MORE_SETS: Final = MappingProxyType(
    {
        "IY": ("NEAR",),
        "IH": ("COMMA",),
        "EH": ("TRAP",),
        "AE": ("SQUARE",),
        "AH": ("FOOT",),
        "AO": ("LOT",),
        "OW": ("FORCE",),
        "UW": ("CURE",),
    }
)
"""Sets whose words the dictionary has now with this vowel, now with the one above: before
/r/ and in weak syllables."""

CONSONANTS: Final = MappingProxyType(
    dict(
        pair.split(" ")
        for row in (
            "P p;B b;T t;D d;K k;G ɡ;CH tʃ;JH dʒ;F f;V v;TH θ;DH ð;S s;Z z;SH ʃ;ZH ʒ;HH h",
            "M m;N n;NG ŋ;L l;R ɹ;Y j;W w",
        )
        for pair in row.split(";")
    )
)
"""Symbol → IPA."""


PHONE_TABLE: Final = MappingProxyType(
    {
        str(phone): phone
        for phone in (
            *(Phone(vowel, stress) for vowel in VOWELS for stress in (0, 1, 2)),
            *map(Phone, CONSONANTS),
        )
    }
)
"""Each phone of CMUdict's notation by its symbol, as one shared object."""


def parse_phone(text: str) -> Phone:
    """Read one ARPAbet symbol, such as "K" or "IY1".

    A vowel without a digit counts as unstressed. Raises InputError for a
    symbol outside CMUdict's inventory.
    """
    symbol = text.strip().upper()
    phone = PHONE_TABLE.get(symbol) or PHONE_TABLE.get(symbol + "0")
    if phone is not None:
        return phone
    raise InputError(f"unknown phoneme {text!r}", "use ARPAbet symbols such as IY1, K or NG")


def parse_phones(text: str | Iterable[str]) -> Phones:
    """Read a pronunciation in ARPAbet: "K AE1 T" or its parts.

    >>> [str(phone) for phone in parse_phones("k ae1 t")]
    ['K', 'AE1', 'T']
    """
    parts = text.split() if isinstance(text, str) else tuple(text)
    if not parts:
        raise InputError("no phonemes", "write at least one, such as IY1")
    return tuple([PHONE_TABLE.get(part) or parse_phone(part) for part in parts])


def format_phones(phones: Phones) -> str:
    """ARPAbet with spaces, as in CMUdict.

    >>> format_phones(parse_phones("S IY1"))
    'S IY1'
    """
    return " ".join(map(str, phones))


def phone_ipa(phone: Phone, vowels: Mapping[str, Vowel] = VOWELS) -> str:
    """The IPA symbol of one phoneme of an inventory, without stress marks."""
    if phone.stress is None:
        return CONSONANTS[phone.symbol]
    vowel = vowels[phone.symbol]
    return vowel.ipa if phone.stress or not vowel.weak else vowel.weak


def main_vowel(phones: Phones, vowels: Sequence[int] | None = None) -> int | None:
    """Index of the vowel that carries a word's main stress; None without a vowel. `vowels`:
    where they are, if that is known.

    The last one with primary stress ("thirteen" has two in CMUdict), else the first with
    secondary stress, else the first.

    >>> main_vowel(parse_phones("TH ER1 T IY1 N")), main_vowel(parse_phones("DH AH0"))
    (3, 1)
    """
    vowels = vowel_indexes(phones) if vowels is None else vowels
    if len(vowels) < 2:
        return vowels[0] if vowels else None
    primary = [i for i in vowels if phones[i].stress == 1]
    return primary[-1] if primary else max(vowels, key=lambda i: (phones[i].stress or 0, -i))


def vowel_indexes(phones: Phones) -> tuple[int, ...]:
    """Where the vowels are."""
    return tuple([i for i, phone in enumerate(phones) if phone.stress is not None])
