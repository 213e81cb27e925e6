"""Words that CMUdict lacks, with pronunciations from elsewhere.

The dictionary us_gold of the package misaki (Apache-2.0, General American) is
made apart from CMUdict. Its notation is IPA with capital letters for
diphthongs (misaki's EN_PHONES.md).
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection
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
    parts: list[str] = []
    stress = "0"
    for symbol in text:
        if symbol in "ˈˌ":
            stress = "1" if symbol == "ˈ" else "2"
            continue
        arpabet = _SYMBOLS[symbol]
        if arpabet == "R" and parts and parts[-1][:2] == "ER":
            continue
        vowel = arpabet[0] in "AEIOU"
        parts.append(arpabet + (stress if vowel else ""))
        if vowel:
            stress = "0"
    return parse_phones(parts)


def load_gold() -> dict[str, list[str]]:
    """All words of us_gold with all their forms, in misaki's notation."""
    spec = find_spec("misaki")
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit("the package misaki is needed: pip install --no-deps misaki")
    path = Path(spec.submodule_search_locations[0], "data", "us_gold.json")
    entries: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return {
        word: [text for text in (said.values() if isinstance(said, dict) else [said]) if text]
        for word, said in entries.items()
    }


def read_misaki(known: Collection[str]) -> dict[str, tuple[Phones, ...]]:
    """Pronunciations of the lower-case words that `known` lacks, in an arbitrary fixed order."""
    words = {}
    for word, texts in load_gold().items():
        if word in known or len(word) < 3 or not (word.isascii() and word.isalpha()):
            continue
        if word != word.lower():
            continue
        words[word] = tuple(map(convert_misaki, texts))
    return dict(sorted(words.items(), key=lambda item: hashlib.sha256(item[0].encode()).digest()))
