"""The stages that people want alone: sounds of a text, swap, respelling."""

from __future__ import annotations

from drillgen.core.accents import DEFAULT_ACCENT, load_accent
from drillgen.core.phones import parse_phones
from drillgen.core.values import Phones, Swap
from drillgen.core.views import Word
from drillgen.speech.pipeline import Engine
from drillgen.speech.respell.key import fit_key
from drillgen.speech.respell.writer import respell as write_respelling
from drillgen.speech.swap.targets import parse_target, swap_vowels


def pronounce(
    text: str, *, engine: Engine | None = None, accent: str = DEFAULT_ACCENT
) -> tuple[Word, ...]:
    """The words of a text with their sounds, in context, nothing swapped.

    An engine that is given brings its own accent.

    >>> [(word.original, word.ipa) for word in pronounce("I read 2 books.")]
    [('I', 'aɪ'), ('read', 'ɹɛd'), ('2', 'tu'), ('books', 'bʊks')]
    """
    engine = engine or Engine.load(accent=accent)
    return tuple(
        Word(token.text, token.start, token.end, said, phones, token.text, engine.accent)
        for token, said in engine.pronounce(text)
        if (phones := tuple(phone for word in said for phone in word.phones))
    )


def swap(phones: str | Phones, target: str = "FLEECE", *, accent: str = DEFAULT_ACCENT) -> Swap:
    """Swap every vowel for a target: a lexical set, IPA or an ARPAbet symbol.

    `phones` in ARPAbet as CMUdict writes it. InputError for a phone, OptionError
    for a target that is unknown.

    >>> " ".join(map(str, swap("B OW1 T S").after))
    'B IY1 T S'
    """
    return swap_vowels(_read(phones), parse_target(target, load_accent(accent)).symbol)


def respell(phones: str | Phones, *, accent: str = DEFAULT_ACCENT) -> str:
    """Phones in the letters of the respelling key, a hyphen between syllables.

    >>> respell("M IY1 R N IY0 NG")
    'meer-neeng'
    """
    read = _read(phones)
    return write_respelling(Swap(read, read, ()), key=fit_key(load_accent(accent))).text


def _read(phones: str | Phones) -> Phones:
    return parse_phones(phones) if isinstance(phones, str) else phones
