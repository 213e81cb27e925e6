"""What diacritics tell of a word that was looked up without them: "rosé" is no "rose"."""

from __future__ import annotations

import re
from typing import Final

from drillgen.core.values import Phone, Phones

_N_LETTERS: Final = re.compile("nn|ñ|n(?![cgkqx])")
_FINAL_E: Final = re.compile("ée?(s?)$")
_LAST: Final = frozenset({"EY", "EH"})


def keep_diacritics(written: str, phones: Phones) -> Phones:
    """The phones of a lower-case word with NY for ñ and a final é that is heard.

    >>> from drillgen.core.phones import format_phones, parse_phones
    >>> format_phones(keep_diacritics("rosé", parse_phones("R OW1 Z")))
    'R OW2 Z EY1'
    >>> format_phones(keep_diacritics("niños", parse_phones("N IY1 N OW0 Z")))
    'N IY1 N Y OW0 Z'
    """
    return _keep_e(written, _keep_ny(written, phones))


def _keep_ny(written: str, phones: Phones) -> Phones:
    letters = _N_LETTERS.findall(written)
    places = [i for i, phone in enumerate(phones) if phone.symbol == "N"]
    if "ñ" not in letters or len(letters) != len(places):
        return phones
    said = list(phones)
    for letter, place in reversed(list(zip(letters, places, strict=True))):
        if letter == "ñ" and said[place + 1 : place + 2] != [Phone("Y")]:
            said.insert(place + 1, Phone("Y"))
    return tuple(said)


def _keep_e(written: str, phones: Phones) -> Phones:
    match = _FINAL_E.search(written)
    if match is None:
        return phones
    end = len(phones) - (bool(match[1]) and phones[-1].symbol in ("S", "Z"))
    base, plural = phones[:end], (Phone("Z"),) * bool(match[1])
    last = base[-1]
    if last.symbol in _LAST:
        return phones
    if last.symbol == "IY" and last.stress is not None:
        return (*base[:-1], Phone("EY", last.stress), *plural)
    if plural and base[-2:-1] and base[-1].symbol == "IH":
        # "-es" after a sibilant was heard as the plural: "glacés" is no "glaces".
        base = base[:-1]
    weak = tuple(Phone(phone.symbol, 2) if phone.stress == 1 else phone for phone in base)
    return (*weak, Phone("EY", 1), *plural)
