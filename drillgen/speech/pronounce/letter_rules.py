"""Names of other languages read by the letters, as newsreaders say them in English.

Each language has a file in data/names/ with rewrite rules in the notation of
phonology: `letters PHONES / left _ right`, where the context is two regular
expressions, # stands for the edge of the name, V for a vowel letter and C for
a consonant letter; "-" is silence. Of the rules that fit, the one with most
letters is taken, and of these the first with a context. The phones are ARPAbet.
Rules are ours, from memory of the languages' orthographies.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Final

from drillgen.core.phones import PHONE_TABLE
from drillgen.core.resources import data_file
from drillgen.core.values import Phones

LANGUAGES: Final = (
    *"ak am ar az cs cy de el es fa fi fr ga haw he hi hr hu hy id ig it ja ka ko".split(),  # noqa: SIM905
    *"lt mi nl pl pt ro ru sm so sv sw tl tr vi yo zh zu".split(),  # noqa: SIM905
)
"""Language tags (BCP 47); "sv" stands for the Nordic ones, "hr" for its neighbours too."""

EDGE: Final = "#"
SIGHT: Final = 64
"""Letters on either side of a place that a rule may look at; no name is so long."""

_VOWELS: Final = "aeiouyàáâãäåæèéêëìíîïòóôõöøùúûüýāēīōūăơưıŵŷẹịọụœůěąęėįųə"
_CLASSES: Final = {"V": f"[{_VOWELS}]", "C": f"[^{_VOWELS}#]"}
_LETTERS: Final = {
    **dict(zip("bdfklmnprstvz", "BDFKLMNPRSTVZ", strict=True)),
    "c": "K",
    "g": "G",
    "h": "HH",
    "j": "JH",
    "q": "K",
    "w": "W",
    "x": "K S",
    "y": "Y",
    "a": "AA",
    "e": "EH",
    "i": "IY",
    "o": "OW",
    "u": "UW",
}
_HAVE_VOWEL: Final = "AEIOU"


@dataclass(frozen=True, slots=True)
class _Rule:
    letters: str
    phones: tuple[str, ...]
    left: str = ""
    """Pattern of what stands before the letters, and after them; empty: anything."""

    right: str = ""

    def fits(self, text: str, at: int) -> bool:
        """Whether the rule holds at a place of a name between its edges."""
        if not text.startswith(self.letters, at):
            return False
        if self.left and not _compile(self.left).search(text, max(0, at - SIGHT), at):
            return False
        return not self.right or bool(_compile(self.right).match(text, at + len(self.letters)))


@cache
def _compile(pattern: str) -> re.Pattern[str]:
    """Most patterns of a language are never asked for: those that are, are made then."""
    return re.compile(pattern)


def parse_rule(line: str) -> _Rule:
    body, _, context = line.partition(" / ")
    letters, _, said = body.strip().partition(" ")
    before, _, after = context.partition("_")
    left, right = (_expand(part.strip()) for part in (before, after))
    return _Rule(
        letters,
        () if said.strip() == "-" else tuple(said.split()),
        rf"(?:{left})\Z" if left else "",
        f"(?:{right})" if right else "",
    )


def _expand(context: str) -> str:
    for name, letters in _CLASSES.items():
        context = context.replace(name, letters)
    return context.replace(" ", "")


class LetterRules:
    """The rules of one language.

    >>> " ".join(map(str, LetterRules.load("pl").read("Łukasz")))
    'W UW1 K AH0 SH'
    """

    def __init__(
        self,
        name: str,
        stress: str,
        lines: Sequence[str],
        drop: str = "",
        *,
        regular: bool = False,
    ) -> None:
        """`lines`: the rules; `drop`: combining marks that say nothing of the phones (tones);
        `regular`: a name of the language is hardly ever said otherwise than by its letters."""
        self.name: Final = name
        self.regular: Final = regular
        self._stress: Final = stress
        self.lines: Final = lines
        self._drop: Final = frozenset(drop)

    @classmethod
    def load(cls, language: str) -> LetterRules:
        """The rules of a language of LANGUAGES."""
        table = tomllib.loads(data_file(f"names/{language}.toml").read_text(encoding="utf-8"))
        lines = [line for line in table["rules"].splitlines() if line.strip()]
        drop, regular = table.get("drop", ""), table.get("regular", False)
        return cls(table["name"], table["stress"], lines, drop, regular=regular)

    @cached_property
    def _rules(self) -> Mapping[str, Sequence[_Rule]]:
        """The rules by their first letter, in the order in which they are tried."""
        rules: dict[str, list[_Rule]] = {}
        for rule in map(parse_rule, self.lines):
            rules.setdefault(rule.letters[0], []).append(rule)
        for those in rules.values():
            those.sort(key=lambda rule: (-len(rule.letters), not (rule.left or rule.right)))
        return rules

    @cached_property
    def _accented(self) -> frozenset[str]:
        return frozenset(c for line in self.lines for c in line.partition(" ")[0] if c > "\x7f")

    def has(self, name: str) -> bool:
        """Whether the language has all the letters with accents of a name, tones apart."""
        return all(c in self._accented for c in self._clean(name.lower()) if c > "\x7f")

    def read(self, name: str) -> Phones:
        """A name as it is written, accents and all. Words joined by hyphens get one stress."""
        parts = re.split(r"[-\s]", name.lower().replace("’", "'"))
        said = [phone for part in parts for phone in self._spell(self._clean(part))]
        return self._put_stress(said)

    def _clean(self, part: str) -> str:
        letters = unicodedata.normalize("NFD", part)
        kept = "".join(c for c in letters if c not in self._drop)
        return f"{EDGE}{unicodedata.normalize('NFC', kept)}{EDGE}"

    def _spell(self, text: str) -> list[tuple[str, bool]]:
        """Phones without stress, each with whether a written accent stands on its letters."""
        said: list[tuple[str, bool]] = []
        at = 1
        while at < len(text) - 1:
            rule = next((r for r in self._rules.get(text[at], ()) if r.fits(text, at)), None)
            if rule is None:
                base = unicodedata.normalize("NFD", text[at])[0]
                start = max(0, at - SIGHT)
                plain = text[start:at] + base + text[at + 1 : at + SIGHT]
                rules = self._rules.get(base, ())
                rule = next((r for r in rules if r.fits(plain, at - start)), None)
                if rule is None:
                    rule = _Rule(base, tuple(_LETTERS.get(base, "").split()))
            size = len(rule.letters)
            marked = any(c in "áéíóúâêôãõàèìòù" for c in text[at : at + size])
            phones = rule.phones
            if said and phones and said[-1][0] == phones[0] and phones[0][0] not in _HAVE_VOWEL:
                # Doubled letters are one sound.
                phones = phones[1:]
            elif phones[-1:] == ("N",) and text[at + size] in "kgq" and size == 1:
                phones = (*phones[:-1], "NG")
            vowels = [i for i, phone in enumerate(phones) if phone[0] in _HAVE_VOWEL]
            said += [(phone, marked and i in vowels[:1]) for i, phone in enumerate(phones)]
            at += size
        return said

    def _put_stress(self, said: Sequence[tuple[str, bool]]) -> Phones:
        vowels = [i for i, (phone, _) in enumerate(said) if phone[0] in _HAVE_VOWEL]
        if not vowels:
            return tuple(PHONE_TABLE[phone] for phone, _ in said)
        main = self._choose_stressed(said, vowels)
        second = vowels[vowels.index(main) - 2] if vowels.index(main) > 1 else -1
        result = []
        for i, (phone, _) in enumerate(said):
            if phone[0] not in _HAVE_VOWEL:
                result.append(PHONE_TABLE[phone])
                continue
            degree = 1 if i == main else 2 if i == second else 0
            weak = not degree and phone == "AA" and self.name != "Chinese (pinyin)"
            result.append(PHONE_TABLE[f"{'AH' if weak else phone}{degree}"])
        return tuple(result)

    def _choose_stressed(self, said: Sequence[tuple[str, bool]], vowels: Sequence[int]) -> int:
        """Which phone carries the main stress, by the custom of the language."""
        last = vowels[-1]
        marked = [i for i in vowels if said[i][1]]
        if len(vowels) > 2 and said[last - 1] == ("IY", False):
            # "Julio", "Nadia": the glide of the last syllable.
            vowels = [i for i in vowels if i != last - 1]
        penult = vowels[-2] if len(vowels) > 1 else last
        match self._stress:
            case "first":
                return vowels[0]
            case "last":
                return last
            case "penult":
                return penult
            case "italian":
                return last if last in marked else penult
            case "spanish":
                closed = last != len(said) - 1 and said[-1][0] not in ("N", "S", "M")
                return marked[-1] if marked else last if closed else penult
            case _:
                # The last but one if it is heavy, else the one before it (Arabic, Hindi);
                # the last if it is closed by two consonants, or is long and closed.
                if len(said) - last > 2:
                    return last
                heavy = last - penult > 2 or said[penult][0] in ("IY", "UW", "EY", "OW", "AY")
                return penult if heavy or len(vowels) < 3 else vowels[-3]
