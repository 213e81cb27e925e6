"""The spoken words of a written word, as far as it needs no neighbours."""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from typing import Final

from drillgen.core.letters import FOLDS
from drillgen.speech.text.rows import Words

LATIN: Final = (
    "A-Za-zªºÀ-ÖØ-öø-\u02af\u02bb\u1d00-\u1d25\u1e00-\u1eff\u2071\u207fKÅℓ\u2c60-\u2c7f"
    "\ua722-\ua787\uab30-\uab5a\ufb00-\ufb06\uff21-\uff3a\uff41-\uff5a\U0001d400-\U0001d6a5"
)
"""Letters of the Latin script, the okina, full-width and mathematical ones (for a character
class)."""

INNER: Final = (
    "\u00ad\u0300-\u036f\u1ab0-\u1aff\u1dc0-\u1dff\u200b-\u200f\u2060\ufe00-\ufe0f\ufeff"
)
"""Combining marks, soft hyphens and invisible format characters inside a word: UAX #29 (rule
WB4) never divides a word before one."""

APOSTROPHES: Final = "'’‘ʼ＇"
HYPHENS: Final = "-‐‑"

_UNSAID: Final = re.compile(f"[{INNER}]")
_FOLDS: Final = FOLDS | {ord(hyphen): "-" for hyphen in HYPHENS}

_ONSETS: Final = (
    "b|bl|br|c|ch|chr|cl|cr|d|dr|dw|f|fl|fr|g|gh|gl|gn|gr|gu|h|j|k|kl|kn|kr|l|m|n|p|ph|pl|pr|ps|"
    "qu|r|rh|s|sc|sch|scr|sh|shr|sk|sl|sm|sn|sp|sph|spl|spr|squ|st|str|sw|t|th|thr|tr|tw|v|w|wh|"
    "wr|x|y|z"
)
_CODAS: Final = (
    "b|bs|c|ch|ck|cks|cs|ct|cts|d|dd|dge|ds|f|ff|ft|fts|g|gh|ght|gn|gs|h|k|ks|l|lb|ld|lds|lf|lk|"
    "lks|ll|lls|lm|lms|lp|lps|ls|lt|lts|lve|m|mb|mbs|mm|mp|mps|ms|n|nch|nd|nds|ng|ngs|ngth|ngths|nk|nks|nn|ns|"
    "nt|nts|nth|p|ph|ps|pt|pts|r|rb|rbs|rch|rd|rds|rf|rg|rk|rks|rl|rls|rm|rms|rn|rns|rp|rps|rr|"
    "rs|rst|rt|rts|rth|s|sh|sk|sks|sm|sms|sp|sps|ss|st|sts|t|tch|th|ths|ts|tt|v|w|wk|wl|wls|wn|wns|"
    "ws|x|xt|y|ys|z|zz"
)


@cache
def _sayable() -> re.Pattern[str]:
    """Made when it is needed: it takes 20 ms."""
    return re.compile(
        rf"(?:{_ONSETS})?[aeiouy]{{1,3}}(?:(?:{_CODAS})?(?:{_ONSETS})[aeiouy]{{1,3}}){{0,6}}"
        rf"(?:{_CODAS})?"
    )


def fold_accents(text: str) -> str:
    """Plain letters for letters with accents, ligatures, full-width and styled forms.

    Invisible characters inside the word go; curly apostrophes become straight. Letters that
    have no plain form stay as they are.

    >>> fold_accents("Zoë’s ﬁancée"), fold_accents("smør\u00adbrød")
    ("Zoe's fiancee", 'smorbrod')
    """
    if text.isascii():
        return text
    text = _UNSAID.sub("", text).translate(_FOLDS)
    decomposed = unicodedata.normalize("NFKD", text)
    plain = "".join(char for char in decomposed if not unicodedata.combining(char))
    return plain.translate(_FOLDS)


def is_sayable(word: str) -> bool:
    """Whether a lower-case form could be an English word by its letters alone.

    >>> is_sayable("stop"), is_sayable("hdmi")
    (True, False)
    """
    return len(word) <= 24 and _sayable().fullmatch(word) is not None


def name_letters(letters: str, ending: str = "") -> Words:
    """The names of letters, as CMUdict writes them; `ending` goes to the last one.

    >>> name_letters("dvd", "'s")
    ('d.', 'v.', "d.'s")
    """
    names = [letter + "." for letter in fold_accents(letters).lower() if "a" <= letter <= "z"]
    if names:
        names[-1] += ending
    return tuple(names)


def read_word(text: str) -> Words:
    """Spoken words of a form of Latin letters, apostrophes and hyphens.

    A hyphenated compound gives its parts. A single letter is its name, but a lone "a", "i"
    or "o" is the word. Empty if no letter can be said.

    >>> read_word("Well-known"), read_word("x-ray"), read_word("café"), read_word("vis-à-vis")
    (('well', 'known'), ('x.', 'ray'), ('cafe',), ('vis', 'a', 'vis'))
    """
    folded = fold_accents(text)
    if "-" not in folded and folded.isascii():
        word = folded.lower()
        if len(word) > 1 or word in ("a", "i", "o"):
            return (word,)
    spoken: list[str] = []
    parts = re.split("[-\\s]+", folded)
    for number, part in enumerate(parts):
        word = "".join(char for char in part.lower() if char in "abcdefghijklmnopqrstuvwxyz'")
        stripped = word.strip("'")
        if not stripped:
            continue
        if len(stripped) > 1:
            spoken.append(word)
        elif stripped in "aio" and part.islower() and (number or stripped == "a"):
            spoken.append("o'" if word == "o'" else stripped)
        elif stripped in "aio" and len(parts) == 1:
            spoken.append(stripped)
        else:
            spoken.append(stripped + ".")
    return tuple(spoken)
