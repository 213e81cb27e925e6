"""Words that CMUdict lacks, with pronunciations from elsewhere.

The dictionaries of the package misaki (Apache-2.0), us_gold and us_silver for
General American, gb_gold and gb_silver for British English, are made apart from
CMUdict. Their notation is IPA with capital letters for diphthongs (misaki's
EN_PHONES.md).
"""

from __future__ import annotations

import hashlib
import json
import re
from collections import defaultdict
from collections.abc import Collection, Mapping
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final

from drillgen.core.phones import parse_phones
from drillgen.core.values import Phones

_SYMBOLS: Final = dict(
    pair.split(" ")
    for row in (
        "A EY;I AY;O OW;W AW;Y OY;æ AE;ɑ AA;ɔ AO;ə AH;ᵊ AH;ʌ AH;ɛ EH;ɜ ER;ɪ IH;ᵻ IH;i IY;u UW",
        "ʊ UH;b B;d D;ð DH;f F;ɡ G;h HH;j Y;ʤ JH;k K;l L;m M;n N;ŋ NG;p P;ɹ R;s S;ʃ SH;t T;ɾ T",
        "ʔ T;ʧ CH;θ TH;v V;w W;z Z;ʒ ZH",
    )
    for pair in row.split(";")
)


def convert_misaki(text: str) -> Phones:
    """ARPAbet phones of a word in misaki's notation.

    >>> from drillgen.core.phones import format_phones
    >>> format_phones(convert_misaki("vˈɜɹvˌAn"))
    'V ER1 V EY2 N'
    """
    return _convert(text, _SYMBOLS)


def _convert(text: str, symbols: Mapping[str, str]) -> Phones:
    parts: list[str] = []
    stress = "0"
    for symbol in text:
        if symbol in "ˈˌ":
            stress = "1" if symbol == "ˈ" else "2"
            continue
        arpabet = symbols[symbol]
        if arpabet == "R" and parts and parts[-1][:2] == "ER":
            continue
        vowel = arpabet[0] in "AEIOU"
        parts.append(arpabet + (stress if vowel else ""))
        if vowel:
            stress = "0"
    return parse_phones(parts)


_BRITISH: Final = {**_SYMBOLS, "a": "AE", "ɒ": "AA", "Q": "OW"}
"""In the British dictionaries "a" is TRAP and "Q" is GOAT."""


def convert_british(text: str, word: str) -> Phones:
    """The same for the British dictionaries: an r that is not said is left out.

    >>> from drillgen.core.phones import format_phones
    >>> format_phones(convert_british("wˈɪəɹi", "weary"))
    'W IH1 R IY0'
    >>> format_phones(convert_british("nˌɪə", "near"))
    'N IH2'
    """
    if re.search("[eiaou]r", word):
        # NEAR, SQUARE and CURE, which tools/wiktionary.py writes as their first vowel.
        text = re.sub("(?<=[ɪʊɛ])ə", "", text)
    return _convert(text.replace("ː", ""), _BRITISH)


def load_dictionary(name: str = "us_gold") -> dict[str, list[str]]:
    """All words of a dictionary with all their forms, in misaki's notation."""
    spec = find_spec("misaki")
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit("the package misaki is needed: pip install --no-deps misaki")
    path = Path(spec.submodule_search_locations[0], "data", f"{name}.json")
    entries: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return {
        word: [text for text in (said.values() if isinstance(said, dict) else [said]) if text]
        for word, said in entries.items()
    }


def read_misaki(known: Collection[str]) -> dict[str, tuple[Phones, ...]]:
    """Pronunciations of the lower-case words that `known` lacks, in an arbitrary fixed order."""
    words = {}
    for word, texts in load_dictionary().items():
        if word in known or len(word) < 3 or not (word.isascii() and word.isalpha()):
            continue
        if word != word.lower():
            continue
        words[word] = tuple(map(convert_misaki, texts))
    return dict(sorted(words.items(), key=lambda item: hashlib.sha256(item[0].encode()).digest()))


def read_both(region: str) -> dict[str, tuple[Phones, ...]]:
    """The words of gold and silver together, in plain lower-case letters; `region`: us or gb.

    Of capitals only, as initials are, a word is left out; gold goes before silver.
    """
    words: dict[str, tuple[Phones, ...]] = {}
    for name in (f"{region}_gold", f"{region}_silver"):
        found: defaultdict[str, list[Phones]] = defaultdict(list)
        for written, texts in load_dictionary(name).items():
            word = written.lower()
            if word in words or len(word) < 3 or written.isupper():
                continue
            if written.isascii() and written.isalpha():
                for text in texts:
                    said = convert_misaki(text) if region == "us" else convert_british(text, word)
                    if said not in found[word] and any(p.stress is not None for p in said):
                        found[word].append(said)
        words.update((word, tuple(said)) for word, said in found.items() if said)
    return words
