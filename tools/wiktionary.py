"""Read the pronunciations of WikiPron (Lee et al. 2020, LREC; from Wiktionary, CC BY-SA 4.0).

A row is a word and its broad IPA, sound by sound, without stress:
"Booker<tab>b ʊ k ɚ". The American file holds British rows, affixes and letters
spelled out as well; `read_rows` leaves those out and gives ARPAbet without
stress digits.
"""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

Sounds = tuple[str, ...]
"""ARPAbet symbols without stress digits."""

VOWELS: Final = frozenset("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split())  # noqa: SIM905

_CONSONANTS: Final = dict(
    pair.split(" ", 1)
    for pair in [
        "p P",
        "b B",
        "t T",
        "d D",
        "k K",
        "ɡ G",
        "g G",
        "t͡ʃ CH",
        "d͡ʒ JH",
        "f F",
        "v V",
        "θ TH",
        "ð DH",
        "s S",
        "z Z",
        "ʃ SH",
        "ʒ ZH",
        "h HH",
        "ɦ HH",
        "m M",
        "n N",
        "ŋ NG",
        "l L",
        "ɫ L",
        "ɹ R",
        "r R",
        "ɻ R",
        "ɹ̠ R",
        "j Y",
        "w W",
        "ʍ W",
        "x K",
        "χ K",
        "ɬ L",
        "ɾ T",
        "t͡s T S",
        "ʈ T",
        "ɖ D",
        "kʰ K",
        "pʰ P",
        "tʰ T",
        "nː N",
        "mː M",
        "sː S",
        "t̚ T",
        "l̩ AH L",
        "ɫ̩ AH L",
        "n̩ AH N",
        "m̩ AH M",
        "ɹ̩ ER",
        "ɲ N Y",
        "ʁ R",
        "ç HH",
    ]
)
_VOWELS: Final = {
    ipa: arpabet
    for arpabet, row in (
        ("IY", "i iː iˑ"),
        ("IH", "ɪ ɨ ɪ̈ ɪː"),
        ("EH", "ɛ e ɛː"),
        ("EY", "eː"),
        ("AE", "æ a æː a̠"),
        ("AA", "ɑ ɑː ɒ ɒː aː ä"),
        ("AO", "ɔ ɔː"),
        ("OW", "o oː"),
        ("UH", "ʊ ɵ ʊː"),
        ("UW", "u uː ʉ ʉː"),
        ("AH", "ʌ ə ɐ ɘ ʌː"),
        ("ER", "ɜ ɜː ɝ ɝː ɚ əː ɚ̯"),
        ("AA N", "ɑ̃ ɒ̃ ɑ̃ː ɒ̃ː ã"),
        ("AO N", "ɔ̃ ɔ̃ː õ"),
        ("AE N", "æ̃ ɛ̃ ɛ̃ː æ̃ː"),
        ("ER N", "œ̃ ɜ̃"),
    )
    for ipa in row.split()
}
_SECOND: Final = {"ɪ": "I", "ɪ̯": "I", "i̯": "I", "ʊ": "U", "ʊ̯": "U", "u̯": "U"}
_DIPHTHONGS: Final = {
    **{(first, "I"): "AY" for first in ("a", "ɑ", "ʌ", "ɐ", "ä", "aː")},
    **{(first, "U"): "AW" for first in ("a", "ɑ", "æ", "ä", "aː")},
    **{(first, "I"): "EY" for first in ("e", "ɛ", "eː")},
    **{(first, "U"): "OW" for first in ("o", "ə", "ɵ", "ɐ", "oː", "ɔ")},
    **{(first, "I"): "OY" for first in ("ɔ", "o", "ɔː", "ɒ")},
}
_R: Final = frozenset({"ɹ", "r", "ɹ̠", "ɻ"})


def convert(sounds: Sequence[str], word: str, *, british: bool = False) -> Sounds | None:
    """ARPAbet symbols of a row; None where a sound is not English.

    >>> convert("b ʊ k ɚ".split(), "booker")
    ('B', 'UH', 'K', 'ER')
    >>> convert("l æ t ə k iː ə".split(), "latakia")
    ('L', 'AE', 'T', 'AH', 'K', 'IY', 'AH')
    """
    said: list[str] = []
    i = 0
    while i < len(sounds):
        here = sounds[i]
        after = sounds[i + 1] if i + 1 < len(sounds) else ""
        beyond = sounds[i + 2] if i + 2 < len(sounds) else ""
        pair = (here, _SECOND.get(after, ""))
        step = 1
        if pair in _DIPHTHONGS:
            said.append(_DIPHTHONGS[pair])
            step = 2
        elif here in "td" and after and f"{here}͡{after}" in _CONSONANTS and after in "ʃʒ":
            # Two signs for one sound, except where both are spelled ("nightshirt").
            apart = ("tsh" if here == "t" else "dzh") in word
            said += (
                [here.upper(), _CONSONANTS[after]] if apart else [_CONSONANTS[f"{here}͡{after}"]]
            )
            step = 2
        elif here in ("e", "ɛ", "ɛː", "eː", "ʊ") and after in ("ɚ", "ɚ̯"):
            said += [_VOWELS[here], "R"]
            step = 2
        elif here in ("e", "ɛ", "ɛː", "eː") and after in ("ə", "ə̯") and beyond in _R:
            said.append("EH")
            step = 2
        elif here in ("ɪ", "i", "ʊ", "ɔː", "ɔ") and after in ("ə", "ə̯") and beyond in _R:
            # "beer", "tour"; but "carrier", "senior" have two vowels.
            two = here in "ɪi" and re.search(r"[aeiouy].*([^aeio]i[eoa]r|yer)", word) is not None
            said += ["IY", "ER"] if two else [_VOWELS[here]]
            step = 3 if two else 2
        elif british and here in ("ɪ", "ʊ", "e", "ɛ") and after in ("ə", "ə̯"):
            centring = re.search("[eiaou]r", word) is not None
            said += [_VOWELS[here]] if centring and here != "i" else [_VOWELS[here], "AH"]
            step = 2
        elif here == "ə" and after in (*_R, "˞"):
            said.append("ER")
            step = 2
        elif here == "ʔ":
            if said and said[-1] not in VOWELS:
                said.append("T")
        elif here == "ɾ":
            said.append("T" if "t" in word else "D" if "d" in word else "R")
        elif here in ("˞", "ə̯", "ˑ"):
            pass
        elif here in _VOWELS:
            said += _VOWELS[here].split()
        elif here in _CONSONANTS:
            said += _CONSONANTS[here].split()
        else:
            return None
        i += step
    return _absorb_r(said)


def _absorb_r(said: Sequence[str]) -> Sounds:
    """NURSE holds its r; "h w" is w; "fire" has two syllables, as lexicon.mend_entry has it."""
    result: list[str] = []
    for i, symbol in enumerate(said):
        vowel_next = i + 1 < len(said) and said[i + 1] in VOWELS
        if symbol == "R" and result and result[-1] in ("AY", "AW") and not vowel_next:
            result.append("ER")
            continue
        if symbol == "R" and result and result[-1] == "ER":
            continue
        if symbol == "W" and result and result[-1] == "HH":
            result.pop()
        result.append(symbol)
    return tuple(result)


def is_rhotic(word: str, said: Sounds) -> bool:
    """Whether a row says the r's that are written: none is missing."""
    written = len(re.findall("r+h?|wr", word))
    heard = sum(symbol in ("R", "ER") for symbol in said)
    return heard >= written


def is_plausible(word: str, said: Sounds) -> bool:
    """Whether so many sounds can belong to so many letters: no initials, no fragments."""
    vowels = sum(symbol in VOWELS for symbol in said)
    groups = len(re.findall("[aeiouy]+", word))
    return (
        vowels >= 1
        and len(said) <= len(word) + 2
        and len(said) * 2 >= len(word)
        and vowels <= groups + 2 + word.count("ism")
        and (groups <= 1 or vowels * 2 >= groups)
    )


def read_rows(path: Path, *, british: bool = False) -> Iterator[tuple[str, Sounds]]:
    """Written word as it stands, and its sounds, for the rows that can be used.

    The American rows must be rhotic. Affixes, phrases and words with letters
    of other alphabets are left out; accents stay.
    """
    with gzip.open(path, "rt", encoding="utf-8") as file:
        for line in file:
            written, ipa = line.rstrip("\n").split("\t")
            word = written.lower().replace("’", "'")
            if not re.fullmatch(r"[a-zà-öø-ÿāăčćďēěğīłńňōőřśşšťūůźżž']+", word):
                continue
            if len(word) < 2 or word[0] == "'" or (written.isupper() and len(written) < 6):
                continue
            said = convert(ipa.split(), word, british=british)
            if said and is_plausible(word, said) and (british or is_rhotic(word, said)):
                yield written, said
