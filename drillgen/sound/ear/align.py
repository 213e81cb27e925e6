"""Where each syllable of a known text lies in a take, and which vowel it was said with.

Forced alignment with alternatives: a grammar in which each syllable of the text is a word of
its own that may be said with several vowels; what the recogniser (pocketsphinx, hidden Markov
models of American English at 16 kHz; Huggins-Daines et al. 2006, ICASSP) finds most likely is
what was said. A second pass over each stretch tells the times of the phones. Words
may be left out.
"""

from __future__ import annotations

import math
import os
import random
import statistics
import sys
from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import chain, groupby, islice, pairwise, zip_longest
from typing import Any, Final, NamedTuple

import numpy as np
import numpy.typing as npt

from drillgen.core.errors import DrillgenError
from drillgen.sound.ear.expect import Expected
from drillgen.sound.ear.listen import RATE, Recording

FRAME: Final = 0.01
"""Seconds of a frame of the model."""

_LEVEL: Final = 0.1
"""Root mean square of what the model hears, of full scale."""

_DITHER: Final = 0.01
"""Noise under it, as a share of the speech (-40 dB): the model knows no perfect silence."""

_MEANT, _OWN, _OTHER = 0.6, 0.35, 0.01
"""Chances of what a vowel is said with, before anything is heard."""

_SKIP: Final = 1e-60
"""Chance that a word is left out."""

_AGAIN, _BACK = 1e-36, 8
"""Chance that a reader goes back to a word already begun (the recogniser's numbers are of single
precision: from 1e-45 on it is none), and how many words back at most."""

_GAP: Final = "<sil>"
"""A moment of silence: what stands for a word that is left out or said again.
(An arc without any word would do, but a grammar with many of them takes minutes to prepare.)"""

_BEAMS: Final[Mapping[str, float]] = {"beam": 1e-64, "wbeam": 1e-40, "pbeam": 1e-64}
"""How much less likely than the best a path may be and still be followed. The recogniser's own
limits lose fast speech; in the grammar of a block wider ones take no longer."""

_WIDE: Final[Mapping[str, float]] = {"beam": 1e-90, "wbeam": 1e-60, "pbeam": 1e-90}
"""The same where the reader may not go back: of some slow speech 0.67 of the words were placed
right without them, 0.99 with them. Beside ways back they find nothing more."""

_ENOUGH: Final = 12.0
"""Seconds of a take on which the order of the words is tried."""

_ORDERS: Final = 3
"""Other orders that are tried."""

_EVEN: Final = 0.4
"""Unevenness of speech: standard deviation of the log of a syllable's length by its sounds. Takes
of the text had 0.20 to 0.49 (read speech the most), takes of other texts 0.40 to 0.81."""

_BLOCK: Final = 30 * RATE
"""Samples of a block: a long take needs little memory, and the model no large grammar."""

_TAIL: Final = 2 * RATE
"""Samples at the end of a block that are left to the next."""

_REST: Final = RATE // 2
"""Samples of silence that are put after a block."""

_FAST: Final = 6.0
"""Syllables a second that a block holds at first."""

_SHORTEST: Final = 8.0
"""Seconds of a stretch whose phones are placed at once."""


class Heard(NamedTuple):
    """A stretch of the take that was recognised."""

    unit: int
    """Number of the expected syllable."""

    vowel: str
    """ARPAbet symbol of the vowel that it was said with."""

    start: float
    end: float
    """Seconds of the take."""

    vowel_start: float
    vowel_end: float
    fit: float = 0.0
    """How well the model's sounds fit: log likelihood per frame beside the likeliest sound's;
    -inf where its sounds could not be placed."""

    def move(self, restore: Callable[[float], float]) -> Heard:
        """At other times: `restore` gives that of what begins at a time."""
        return self._replace(
            start=restore(self.start),
            end=restore(self.end - FRAME) + FRAME,
            vowel_start=restore(self.vowel_start),
            vowel_end=restore(self.vowel_end - FRAME) + FRAME,
        )


class EarError(DrillgenError):
    """The recogniser or the measuring library is missing."""


def open_model(**changes: float | bool | str) -> Any:
    """A recogniser without a grammar. EarError where the package is not installed."""
    try:
        import pocketsphinx
    except ImportError:
        raise EarError(
            "checking a take needs pocketsphinx", "pip install 'drillgen[ear]'"
        ) from None
    model = os.path.join(pocketsphinx.get_model_path(), "en-us", "en-us")  # noqa: PTH118
    # A lattice of everything that was thought of takes far longer than the search itself.
    settings = {"hmm": model, "lm": None, "dict": None, "loglevel": "FATAL", "lw": 1.0}
    settings |= {"bestpath": False, **_BEAMS, **changes}
    return pocketsphinx.Decoder(**settings)


def align(
    take: Recording, expected: Sequence[Expected], *, again: bool = True
) -> tuple[Heard, ...]:
    """What was heard of a text, in order of time; nothing where the take does not fit it.

    `again`: the reader may go back and say words again.
    """
    back = _BACK if again else 0
    placer = open_model()
    heard: list[Heard] = []
    starts = _word_starts(expected)
    start = unit = 0
    while unit < len(expected) and start < len(take.samples):
        end = start + _BLOCK
        if len(take.samples) - end < _BLOCK // 2:
            end = len(take.samples)
        pcm = _prepare(take, start, end)
        # The last block may have ended inside a word: never behind what comes next.
        first = starts[max(0, bisect_right(starts, unit) - 1 - back)]
        words = _decode_on(expected, unit, first, back, pcm.tobytes())
        if end < len(take.samples):
            words, cut = _keep_sure(words, len(pcm) - _REST)
            pcm = pcm[:cut]
        for first, last, part in _cut_pieces(words, len(pcm)):
            named = [(word.name, _find_phones(word, expected)) for word in part]
            phones = _time_phones(placer, named, pcm[first:last].tobytes())
            if not phones:
                # A recogniser that lost its way can't be used again.
                placer, phones = open_model(), [[] for _ in part]
            for word, times in zip(part, phones, strict=True):
                heard.append(_read_word(word, times, expected, (start + first) / RATE))
        start += len(pcm)
        unit = heard[-1].unit + 1 if heard else 0
    return _keep_last(heard)


def _keep_last(heard: Sequence[Heard]) -> tuple[Heard, ...]:
    """Of what was said several times the last; what was broken off before it is left out,
    and so is a last try that did not come as far."""
    last = max((one.unit for one in heard), default=0)
    end = max((n for n, one in enumerate(heard, 1) if one.unit == last), default=0)
    kept: list[Heard] = []
    for one in reversed(heard[:end]):
        if not kept or one.unit < kept[-1].unit:
            kept.append(one)
    return tuple(reversed(kept))


def _decode_on(
    expected: Sequence[Expected], unit: int, first: int, back: int, pcm: bytes
) -> list[_Word]:
    """The words of a block, whose first syllable is known: as many as it holds.

    `first`: the earliest syllable that it may go back to; `back`: how many words at once.
    """
    count = 20 + round(_FAST * len(pcm) / 2 / RATE)
    while True:
        last = _word_end(expected, min(len(expected), unit + count))
        decoder = open_model(**({} if back else _WIDE))
        words = _decode(decoder, expected[first:last], pcm, first, unit - first, back)
        decoder.end_utt()
        if last == len(expected) or not words or words[-1].unit < last - 1:
            return words
        count *= 2


def _keep_sure(words: list[_Word], total: int) -> tuple[list[_Word], int]:
    """The words of a block that goes on: those before its last silence, and the sample of that.

    What was being said at its end is heard again in the next block.
    """
    step = round(FRAME * RATE)
    sure = (total - _TAIL) // step
    gaps = [
        (after.start - word.end >= 15 or -1, n, (word.end + after.start) // 2)
        for n, (word, after) in enumerate(pairwise(words), 1)
        if word.end < sure and 2 * word.end > sure
    ]
    if not gaps:
        return [word for word in words if word.end < sure], sure * step
    _, count, frame = max(gaps)
    return words[:count], frame * step


def tell_text(take: Recording, expected: Sequence[Expected], heard: Sequence[Heard]) -> float:
    """How far a take is of its text: about 0 where the words fit in their order no better than in
    any other and are drawn out and hurried as suits another text; about 1 where they fit as well
    as whatever sounds are likeliest, and evenly.

    Log likelihoods of the first _ENOUGH seconds; whatever voice, room or microphone it is, it is
    the same for all. To a wrong text its own order is one more of the others.
    """
    first = heard[0].unit
    last = next((h for h in heard if h.end > heard[0].start + _ENOUGH), heard[-1])
    part = expected[first : _word_end(expected, last.unit + 1)]
    pcm = _prepare(take, max(0, round((heard[0].start - 0.3) * RATE)), round(last.end * RATE))
    words = [list(group) for _, group in groupby(part, key=lambda unit: unit.word)]
    chance = random.Random(0)
    shuffles = [[*chain(*chance.sample(words, len(words)))] for _ in range(_ORDERS)]
    sounds = sorted({phone for unit in part for _, phones in unit.sounds for phone in phones})

    def judge(units: Sequence[Expected]) -> float:
        # The model's likelihoods count from the best of the sounds that it tries: all must be.
        decoder = open_model(compallsen=True)
        if units:
            _decode(decoder, units, pcm.tobytes())
        else:
            for sound in sounds:
                decoder.add_word(sound + ":", sound, False)
            _search(decoder, [(0, 0, 0.5, sound + ":") for sound in sounds], 0, pcm.tobytes())
        score = decoder.hyp().score if decoder.hyp() is not None else 0
        decoder.end_utt()
        return math.log(max(score, sys.float_info.min))

    own, free, *others = (judge(units) for units in (part, (), *shuffles))
    mean = statistics.mean(others)
    lengths = [
        math.log(max(h.end - h.start, FRAME) / len(expected[h.unit].sounds[0][1])) for h in heard
    ]
    uneven = statistics.pstdev(lengths)
    return (own - mean) / max(free - mean, sys.float_info.epsilon) + _EVEN - uneven


def _prepare(take: Recording, start: int, end: int) -> npt.NDArray[np.int16]:
    """Samples as the model hears them: at its level, with a little noise under them
    and a rest after them, in which a word that is cut off can end."""
    part = np.pad(take.samples[start:end], (0, _REST)) * (_LEVEL / max(take.speech_level, 1e-6))
    noisy = part + np.random.default_rng(0).normal(0, _LEVEL * _DITHER, len(part))
    return (np.clip(noisy, -1, 1) * 32767).astype("<i2")


class _Word(NamedTuple):
    """A syllable in the first pass: its name, first frame and end."""

    name: str
    start: int
    end: int

    @property
    def unit(self) -> int:
        """Number of the syllable."""
        return int(self.name.partition(":")[0])


class _Phone(NamedTuple):
    """A phone in the second pass: first frame, end, and how well it fits."""

    start: int
    end: int
    score: float


def _read_phone(part: Any) -> _Phone:
    fit = math.log(max(part.ascore, sys.float_info.min))
    return _Phone(part.start_frame, part.end_frame + 1, fit)


def _word_end(expected: Sequence[Expected], unit: int) -> int:
    while 0 < unit < len(expected) and expected[unit].word == expected[unit - 1].word:
        unit += 1
    return unit


def _cut_pieces(words: Sequence[_Word], total: int) -> Iterator[tuple[int, int, list[_Word]]]:
    """Stretches of at least _SHORTEST seconds, cut in silences: sample range and words."""
    step = round(FRAME * RATE)
    start, part = 0, list[_Word]()
    for word, following in zip_longest(words, words[1:]):
        part.append(word)
        if following is None:
            yield start, total, part
        elif (word.end + 5 < following.start) and word.end * step - start > _SHORTEST * RATE:
            end = (word.end + following.start) // 2 * step
            yield start, end, part
            start, part = end, []


def _word_starts(expected: Sequence[Expected]) -> list[int]:
    return [n for n, u in enumerate(expected) if n == 0 or u.word != expected[n - 1].word]


def _decode(
    decoder: Any,
    expected: Sequence[Expected],
    pcm: bytes,
    first: int = 0,
    begin: int = 0,
    back: int = 0,
) -> list[_Word]:
    """The likeliest way into the grammar of a text whose syllables count from `first`,
    from the state `begin`; a word may be left out, and the reader may go back."""
    arcs: list[tuple[int, int, float, str]] = []
    starts = _word_starts(expected)
    for number, unit in enumerate(expected):
        last = bisect_right(starts, number)
        arcs += [(number + 1, s, _AGAIN, _GAP) for s in starts[max(0, last - back) : last]]
        for chance, name, phones in _list_names(first + number, unit):
            decoder.add_word(name, phones, False)
            arcs.append((number, number + 1, chance, name))
        if starts[last - 1] == number:
            arcs.append((number, _word_end(expected, number + 1), _SKIP, _GAP))
    _search(decoder, arcs, len(expected), pcm, begin)
    parts = decoder.seg() if decoder.hyp() is not None else ()
    return [_Word(p.word, p.start_frame, p.end_frame + 1) for p in parts if ":" in p.word]


def _search(
    decoder: Any, arcs: list[tuple[int, int, float, str]], last: int, pcm: bytes, begin: int = 0
) -> None:
    """Hear a take with a grammar. Until the recogniser is told that the utterance is over,
    its likeliest way may end anywhere."""
    decoder.add_fsg("take", decoder.create_fsg("take", begin, last, arcs))
    decoder.activate_search("take")
    decoder.start_utt()
    decoder.process_raw(pcm, full_utt=True)


def _find_phones(word: _Word, expected: Sequence[Expected]) -> tuple[str, ...]:
    vowel = word.name.partition(":")[2]
    return next(phones for v, phones in expected[word.unit].sounds if v == vowel)


def _time_phones(
    decoder: Any, words: Sequence[tuple[str, tuple[str, ...]]], pcm: bytes
) -> list[list[_Phone]]:
    """The place of each phone of each word; nothing where they can't be placed.

    Each phone is given as a word of its own: unlike the recogniser's own alignment
    of phones, that never loses its way.
    """
    names = [f"{name}:{place}" for name, phones in words for place in range(len(phones))]
    phones = [phone for _, parts in words for phone in parts]
    try:
        for name, phone in dict(zip(names, phones, strict=True)).items():
            decoder.add_word(name, phone, False)
        decoder.set_align_text(" ".join(names))
        decoder.start_utt()
        decoder.process_raw(pcm, full_utt=True)
        decoder.end_utt()
    except RuntimeError:
        return []
    found = [part for part in decoder.seg() or () if ":" in part.word]
    if not found or [part.word for part in found] != names[: len(found)]:
        return []
    # The last phones of a stretch may be lost in the silence after them.
    places = map(_read_phone, found)
    rows = [list(islice(places, len(parts))) for _, parts in words]
    return [r if len(r) == len(p) else [] for r, (_, p) in zip(rows, words, strict=True)]


def _list_names(number: int, unit: Expected) -> Iterator[tuple[float, str, str]]:
    for vowel, phones in unit.sounds:
        chance = _MEANT if vowel == unit.meant else _OTHER
        if vowel in unit.owns and vowel != unit.meant:
            chance = _OWN
        yield chance, f"{number}:{vowel}", " ".join(phones)


def _read_word(
    word: _Word, phones: list[_Phone], expected: Sequence[Expected], offset: float
) -> Heard:
    unit, vowel = word.unit, word.name.partition(":")[2]
    names = _find_phones(word, expected)
    place = next((i for i, p in enumerate(names) if p[0] in "AEIOU"), 0)
    if not phones:
        start, end = word.start * FRAME, word.end * FRAME
        edge = (end - start) / 4
        return Heard(unit, vowel, start, end, start + edge, end - edge, -math.inf)
    nucleus = phones[min(place, len(phones) - 1)]
    frames = (phones[0].start, phones[-1].end, nucleus.start, nucleus.end)
    fit = sum(phone.score for phone in phones) / max(1, frames[1] - frames[0])
    start, end, *inner = (offset + frame * FRAME for frame in frames)
    return Heard(unit, vowel, start, end, inner[0], inner[1], fit)
