"""A take and the drill that it is of: in comes sound, out comes what was measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from math import isfinite
from typing import Final, NamedTuple

import numpy as np
from msgspec.structs import replace

from drillgen.core.accents import DEFAULT_ACCENT
from drillgen.core.errors import InputError
from drillgen.core.formants import hz_to_bark
from drillgen.core.take import (
    Change,
    Comparison,
    Doubt,
    Ending,
    Interval,
    Melody,
    Syllable,
    TakeReport,
    VowelMean,
)
from drillgen.core.values import Delivery, Drill, Grade
from drillgen.sound.ear.align import FRAME, Heard, align, tell_text
from drillgen.sound.ear.expect import Expected, expect_syllables, same_vowel
from drillgen.sound.ear.listen import (
    RATE,
    Recording,
    find_pauses,
    shorten_rests,
)
from drillgen.sound.ear.measure import (
    Formants,
    Numbers,
    Track,
    average_vowels,
    bootstrap,
    choose_ceiling,
    gather_pitch,
    judge_ending,
    measure_drift,
    measure_formants,
    track_pitch,
)

NEAR: Final = 50.0
"""Cents from the target within which a pitch counts as held: a quarter tone."""

LEAST_CHANGE: Final = 0.03
"""Share by which F2 must differ besides being beyond chance: a listener's limen for a formant
is 3 to 5% (Flanagan 1955, JASA 27, 613-617), and takes of different days differ by less."""

MOST_CHANGE: Final = float(np.log(2761 / 2322))
"""Change of log F2 beyond which two takes were not measured alike: the means of women and men
in FLEECE differ by that (Hillenbrand et al. 1995), and nobody's vowel goes so far."""

_BLUR: Final = 0.045
"""Change of log F2 from one ceiling to the next above which formants are not to be relied on: of
development takes the clear ones had 0.041 at most, Klatt's synthesizer 0.05 to 0.15."""

_PAUSE: Final = 1.5
"""Seconds of silence inside the text that are worth naming."""

_ADDED: Final = 0.6
"""Seconds of sound between words that are worth naming."""

_NOISY: Final = 18.0
"""Decibels between speech and noise below which formants are doubtful (common practice)."""

_FLAT: Final = 0.035
"""Share of flat tops from which a take is clipped: whole ones had 0.030 at most, clipped by 6 dB
0.04 to 0.29 (Klatt's synthesizer alone less)."""

_HIGH: Final = 300.0
"""Hz of pitch above which formants can't be found well (Monsen and Engebretson 1983, JSHR 26,
89-97: errors grow fast when f0 passes 300 Hz)."""

_FLEECE: Final = "IY"

_SAME, _AWAY, _LOWER = 0.4, 1.0, 0.3
"""Bark of F1 up and F2 down from a speaker's own FLEECE: within _SAME in both a vowel is it; away
by _AWAY in their sum, it is another. The means of KIT and FACE lie 1.4 to 1.9 away (Hillenbrand
et al. 1995, women and men). A speaker whose own FLEECE scatters needs more: three robust
deviations. What lies between can't be told. What is heard as FLEECE must besides be lower by
_LOWER."""

_TAKEN: Final = ("IH", "EY")
"""Vowels that the model takes for FLEECE: KIT and FACE. What it hears as FLEECE in place of any
other is FLEECE, however odd its formants."""

_BRIEF, _MOVED, _HASTY = 0.055, 0.2, 0.25
"""Seconds of a vowel below which it must differ by so many Bark in F1 and in F2: the model gives
each sound three frames at least, and formants are measured over 50 ms. Shorter than so much of the
speaker's usual FLEECE besides, it was more likely misplaced."""

_FEW: Final = 8
"""Pairs of vowels below which nothing is compared."""

_MISFIT: Final = 0.5
"""Share of the words that must be heard."""

_ASTRAY: Final = 0.1
"""Share of the words that are missing where it is tried again without going back."""

_LEAST: Final = 0.15
"""How far a take must be of its text (`tell_text`): of development takes of bench/ear.py right
ones had 0.26 and more (the least of Klatt's synthesizer), takes of other texts 0.07 at most."""

_FEW_WORDS: Final = 5
"""Words below which no other order is tried."""


class _Measured(NamedTuple):
    """A take, aligned."""

    take: Recording
    expected: tuple[Expected, ...]
    heard: tuple[Heard, ...]
    track: Track
    pitches: list[Numbers]
    notes: Sequence[tuple[int, int]]
    """Sample ranges of what is no voice (`find_tones`)."""


def check_take(
    drill: Drill,
    take: Recording,
    delivery: Delivery,
    *,
    target: float | None = None,
    before: Recording | None = None,
    name: str = "the take",
) -> TakeReport:
    """Measure a take of a drill, beside an earlier one of the same text where one is given.

    `target` is the pitch asked for in Hz. InputError where a take does not fit the text.
    """
    now = _align(drill, take, delivery, name)
    earlier = _align(drill, before, delivery, "the take before") if before else None
    both = [now, *([earlier] if earlier else [])]
    ceiling = choose_ceiling((m.take, _centres(m)) for m in both)
    formants = [_measure_all(m, ceiling.hertz) for m in both]
    syllables = look_again(_iter_syllables(now, formants[0], delivery, drill.target), delivery)
    melody = _measure_melody(drill, now, target)
    comparison = None
    if earlier:
        old = _measure_melody(drill, earlier, target)
        rows = look_again(_iter_syllables(earlier, formants[1], delivery, drill.target), delivery)
        kept = melody.span / old.span if delivery is not Delivery.CHANT and old.span > 1 else 0.0
        clear = ceiling.blur <= _BLUR
        comparison = compare(syllables, rows, kept, drill.target, clear=clear)
    pauses, added = _find_gaps(now)
    spans = [(h.start, h.end) for h in now.heard]
    silent = sum(end - start for start, end in pauses)
    # What is sure to have had another vowel was said, however fast.
    missing = tuple(sorted(_missing_words(now) - {s.word for s in syllables if s.slip}))
    return TakeReport(
        delivery,
        target,
        drill.target,
        take.seconds,
        max(0.0, spans[-1][1] - spans[0][0] - silent),
        syllables,
        missing,
        added,
        pauses,
        melody,
        _average(syllables, drill.target),
        comparison,
        tuple(_iter_doubts(drill, now, melody, len(missing), ceiling.blur)),
    )


def _align(drill: Drill, take: Recording, delivery: Delivery, name: str) -> _Measured:
    expected = expect_syllables(drill, delivery)
    if not expected:
        raise InputError("there is nothing to say in the text", "give at least one word")
    words = {unit.word for unit in expected}
    short = shorten_rests(take)

    def listen(again: bool) -> tuple[int, tuple[Heard, ...], _Measured]:
        """How many words are missing, what was heard, and the same in the whole take."""
        heard = align(short.take, expected, again=again)
        placed = tuple(one.move(short.restore) for one in heard)
        measured = _Measured(
            take, expected, placed, Track(np.zeros(0), np.zeros(0)), [], short.notes
        )
        return len(_missing_words(measured)) if heard else len(words), heard, measured

    @cache
    def fits(again: bool) -> bool:
        heard, few = tries[again][1], len(words) < _FEW_WORDS
        return bool(heard) and (few or tell_text(short.take, expected, heard) >= _LEAST)

    tries = {True: listen(True)}
    chosen = True
    if tries[True][0] > _ASTRAY * len(words) or not fits(True):
        # A voice that the model knows badly goes astray where it may go back.
        tries[False] = listen(False)
        # Whether it is the text takes longest: it is asked first of what holds more of its words.
        order = sorted(tries, key=lambda again: tries[again][0])
        chosen = next(filter(fits, order), order[0])
    lost, _, measured = tries[chosen]
    unfit = bool(measured.heard) and not fits(chosen)
    if (unfit or lost > (1 - _MISFIT) * len(words)) and take.noise_gap < _NOISY:
        raise InputError(
            f"noise or music only {take.noise_gap:.0f} dB below the voice hides what was said",
            "record it in a quiet room, near the microphone",
            file=name,
        )
    if unfit and take.clipped > _FLAT:
        mend = "record it again, softer or farther from the microphone"
        raise InputError("the take is distorted: it was recorded too loud", mend, file=name)
    if unfit:
        raise InputError(
            "the take does not fit the text", "give the text that was read, in English", file=name
        )
    if lost > (1 - _MISFIT) * len(words):
        raise InputError(
            f"only {len(words) - lost} of the {len(words)} words of the text were heard",
            "give the text and the delivery that were read",
            file=name,
        )
    track = track_pitch(take)
    return measured._replace(track=track, pitches=gather_pitch(track, measured.heard))


def _centres(measured: _Measured) -> list[tuple[str, float]]:
    return [(h.vowel, (h.vowel_start + h.vowel_end) / 2) for h in measured.heard if h.vowel]


def _measure_all(measured: _Measured, ceiling: float) -> list[Formants]:
    return [
        measure_formants(measured.take, (h.vowel_start + h.vowel_end) / 2, ceiling)
        if h.vowel and len(pitches) and isfinite(h.fit)
        else Formants()
        for h, pitches in zip(measured.heard, measured.pitches, strict=True)
    ]


def _iter_syllables(
    measured: _Measured, formants: Sequence[Formants], delivery: Delivery, target: str
) -> Iterator[Syllable]:
    found = {h.unit: n for n, h in enumerate(measured.heard)}
    for number, unit in enumerate(measured.expected):
        if unit.vowel < 0:
            continue
        place = (*unit.token, unit.word, unit.vowel, unit.owns[0], unit.meant)
        if number not in found:
            yield Syllable(*place, "", False)
            continue
        index = found[number]
        h, pitches = measured.heard[index], measured.pitches[index]
        f0 = float(np.median(pitches)) if len(pitches) else 0.0
        slip = not same_vowel(h.vowel, unit.meant)
        if delivery is Delivery.CARRY_OVER:
            # Which of the other vowels it was is not asked here, and accents differ in it.
            slip = h.vowel == target and target not in unit.owns
        # The vowel of a syllable whose sounds could not be placed may lie elsewhere.
        vague = slip and not isfinite(h.fit)
        said = Syllable(*place, h.vowel, slip, h.vowel_start, h.vowel_end, f0, *formants[index])
        yield replace(said, slip=slip and not vague, vague=vague)


def look_again(syllables: Iterable[Syllable], delivery: Delivery) -> tuple[Syllable, ...]:
    """Hear FLEECE as the vowel of the word where its formants lie far from the speaker's own,
    and another vowel as the FLEECE that was asked for where they lie at it.

    The model takes KIT and FACE for FLEECE; F1 and F2 tell them apart (Hillenbrand et al. 1995).
    A vowel must be so much lower and farther back than the speaker's FLEECE that
    neither measuring nor neighbouring sounds explain it.
    """
    rows = tuple(syllables)
    free = delivery is Delivery.CARRY_OVER
    own = [
        (hz_to_bark(s.f1), hz_to_bark(s.f2), s.end - s.start)
        for s in rows
        if s.said == _FLEECE and s.f2
    ]
    known = len(own) >= _FEW
    lows, fronts, lengths = np.transpose(own or [(0.0, 0.0, 0.0)])
    f1, f2 = float(np.median(lows)), float(np.quantile(fronts, 0.75))
    usual = float(np.median(lengths))
    spots = lows - fronts
    away = max(_AWAY, 3 * 1.4826 * float(np.median(np.abs(spots - np.median(spots)))))

    def judge(s: Syllable) -> Syllable:
        brief = s.end - s.start < _BRIEF
        if not (known and s.f2):
            untold = s.slip and (brief or free)
            return replace(s, slip=False, vague=True) if untold else s
        down, back = hz_to_bark(s.f1) - f1, f2 - hz_to_bark(s.f2)
        far = down + back > away
        hasty = s.end - s.start < _HASTY * usual
        moved = not brief or (not hasty and min(down, back) >= _MOVED)
        if s.said == _FLEECE != s.own and down > _LOWER and far and (free or s.own in _TAKEN):
            return replace(s, said=s.own, slip=not free)
        if free and s.slip and max(down, back) > _SAME:
            return replace(s, slip=False, vague=True)
        if s.meant == _FLEECE != s.said and down < _SAME and back < _SAME:
            return replace(s, said=_FLEECE, slip=False, vague=False)
        if s.meant == _FLEECE and s.slip and not (far and moved):
            return replace(s, slip=False, vague=True)
        return s

    return tuple(judge(s) if s.said else s for s in rows)


def _missing_words(measured: _Measured) -> set[int]:
    """Words with a syllable that was left out, or that went by too fast to be said.

    The model gives each sound at least three frames; what was squeezed into
    hardly more was not there.
    """
    found = {h.unit: h for h in measured.heard}
    missing = set()
    for number, unit in enumerate(measured.expected):
        phones = len(unit.sounds[0][1])
        h = found.get(number)
        if h is None or (phones > 2 and h.end - h.start <= (3 * phones + 1) * FRAME):
            missing.add(unit.word)
    return missing


def _measure_melody(drill: Drill, measured: _Measured, target: float | None) -> Melody:
    voiced = [p for p in measured.pitches if len(p)]
    time = sum(max(0.0, h.vowel_end - h.vowel_start - 0.04) for h in measured.heard if h.vowel)
    if not voiced:
        return Melody(0.0, 0.0, None, 0.0, 0.0, (), 0.0)
    joined = np.concatenate(voiced)
    tones = 12 * np.log2(joined / np.median(joined))
    low, high = np.quantile(tones, (0.05, 0.95))
    near = None
    if target is not None:
        near = float(np.mean(np.abs(1200 * np.log2(joined / target)) <= NEAR))
    pairs = [
        ((h.vowel_start + h.vowel_end) / 2, 1200 * float(np.log2(np.median(p))))
        for h, p in zip(measured.heard, measured.pitches, strict=True)
        if len(p)
    ]
    return Melody(
        float(np.median(joined)),
        measure_drift([t for t, _ in pairs], [c for _, c in pairs]),
        near,
        float(high - low),
        float(tones.std()),
        tuple(_iter_endings(drill, measured)),
        min(1.0, len(joined) * FRAME / time) if time else 0.0,
    )


def _iter_endings(drill: Drill, measured: _Measured) -> Iterator[Ending]:
    pitches: dict[int, list[tuple[int, Numbers]]] = {}
    for h in measured.heard:
        # The tune goes on in the voiced sounds after the vowel.
        found = measured.track.between(h.vowel_start, h.end)
        place, token = measured.expected[h.unit].token
        pitches.setdefault(place, []).append((token, found))
    for number, phrase in enumerate(drill.phrases):
        nucleus = next((i for i, g in enumerate(phrase.grades) if Grade.NUCLEUS in g), 0)
        tail = [found for token, found in pitches.get(number, []) if token >= nucleus]
        ending = judge_ending(number, phrase.tune, tail)
        if ending:
            yield ending


def _find_gaps(
    measured: _Measured,
) -> tuple[tuple[tuple[float, float], ...], tuple[tuple[float, float], ...]]:
    """Long silences inside the text, and sound between its words."""
    heard = measured.heard
    first, last = heard[0].start, heard[-1].end
    pauses = [(a / RATE, b / RATE) for a, b in find_pauses(measured.take)]
    inside = tuple(p for p in pauses if p[1] - p[0] >= _PAUSE and first < p[0] and p[1] < last)
    # A note between the lines is no word.
    rests = [*pauses, *((a / RATE, b / RATE) for a, b in measured.notes)]
    added = []
    ends = [0.0, *(h.end for h in heard)]
    starts = [*(h.start for h in heard), measured.take.seconds]
    for end, start in zip(ends, starts, strict=True):
        quiet = sum(max(0.0, min(b, start) - max(a, end)) for a, b in rests)
        if start - end - quiet >= _ADDED:
            added.append((end, start))
    return inside, tuple(added)


def _iter_doubts(
    drill: Drill, measured: _Measured, melody: Melody, lost: int, blur: float
) -> Iterator[Doubt]:
    take = measured.take
    if take.noise_gap < _NOISY:
        yield Doubt.NOISY
    if take.clipped > _FLAT:
        yield Doubt.CLIPPED
    if take.rate < RATE:
        yield Doubt.NARROW
    if melody.median > _HIGH:
        yield Doubt.HIGH
    if blur > _BLUR:
        yield Doubt.BLURRED
    if melody.voiced < 0.5:
        yield Doubt.BREATHY
    if len(measured.heard) < 2 * _FEW:
        yield Doubt.SHORT
    if lost > 0.1 * len({unit.word for unit in measured.expected}):
        yield Doubt.PARTIAL
    if drill.accent != DEFAULT_ACCENT:
        yield Doubt.ACCENT


def compare(
    now: Sequence[Syllable],
    before: Sequence[Syllable],
    span_kept: float,
    anchor: str,
    *,
    clear: bool = True,
) -> Comparison:
    """The same vowels of two takes of one text, pair by pair."""
    pairs = [
        (a, b)
        for a, b in zip(now, before, strict=True)
        if a.said and a.said == b.said and a.f2 and b.f2
    ]
    means = _average(before, anchor)
    if len(pairs) < _FEW:
        nothing = Interval(0.0, 0.0, 0.0)
        return Comparison(len(pairs), nothing, nothing, Change.UNKNOWN, span_kept, means)
    phrases = [a.phrase for a, _ in pairs]
    clusters = phrases if len(set(phrases)) >= _FEW else list(range(len(pairs)))
    logs = bootstrap([float(np.log(a.f2 / b.f2)) for a, b in pairs], clusters)
    gap = bootstrap([_gap(a) - _gap(b) for a, b in pairs], clusters)
    f2 = Interval(*(float(np.expm1(value)) for value in logs))
    change = Change.NONE
    if not clear or abs(logs[0]) > MOST_CHANGE:
        change = Change.UNSURE
    elif f2.low > 0 and f2.value >= LEAST_CHANGE:
        change = Change.MORE
    elif f2.high < 0 and f2.value <= -LEAST_CHANGE:
        change = Change.LESS
    return Comparison(len(pairs), f2, Interval(*gap), change, span_kept, means)


def _average(syllables: Iterable[Syllable], anchor: str) -> tuple[VowelMean, ...]:
    rows = ((s.said, Formants(s.f1, s.f2, s.f3)) for s in syllables if s.said)
    return average_vowels(rows, anchor)


def _gap(syllable: Syllable) -> float:
    return hz_to_bark(syllable.f3) - hz_to_bark(syllable.f2)
