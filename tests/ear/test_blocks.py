"""A long take is heard block by block; the seams must not show."""

from __future__ import annotations

import numpy as np
import pytest
from takes import FERRY, drill_of, record, say

from drillgen.core.values import Delivery
from drillgen.sound.ear import align as aligner
from drillgen.sound.ear.expect import expect_syllables
from drillgen.sound.ear.listen import RATE, find_pauses, find_tones, shorten_rests
from drillgen.sound.synth import Speed, Voice


def test_blocks_hear_what_one_piece_hears(monkeypatch: pytest.MonkeyPatch) -> None:
    drill = drill_of(FERRY)
    take = record(say(drill, Voice.HIGH, 196, share=0.3, speed=Speed.NATURAL).samples)
    expected = expect_syllables(drill, Delivery.CHANT)
    whole = aligner.align(take, expected)
    for seconds in (4, 9):
        assert take.seconds > 2 * seconds
        monkeypatch.setattr(aligner, "_BLOCK", seconds * RATE)
        parts = aligner.align(take, expected)
        assert [h.unit for h in parts] == [h.unit for h in whole] == [*range(len(expected))]
        same = [a.vowel == b.vowel for a, b in zip(parts, whole, strict=True)]
        assert np.mean(same) > 0.95, seconds
        apart = [abs(a.vowel_start - b.vowel_start) for a, b in zip(parts, whole, strict=True)]
        assert np.quantile(apart, 0.95) < 0.03, seconds


@pytest.mark.parametrize("again", [True, False])
def test_a_block_may_end_inside_a_word(again: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    drill = drill_of(FERRY)
    take = record(say(drill, Voice.HIGH, 196, speed=Speed.NATURAL).samples)
    expected = expect_syllables(drill, Delivery.CHANT)
    inside = next(
        n for n, unit in enumerate(expected) if n > 9 and unit.word == expected[n - 1].word
    )
    keep = aligner._keep_sure

    def keep_half(words: list[aligner._Word], total: int) -> tuple[list[aligner._Word], int]:
        kept, cut = keep(words, total)
        half = [word for word in kept if word.unit < inside]
        return (half, half[-1].end * RATE // 100) if half else (kept, cut)

    monkeypatch.setattr(aligner, "_BLOCK", 6 * RATE)
    monkeypatch.setattr(aligner, "_keep_sure", keep_half)
    heard = aligner.align(take, expected, again=again)
    # Who may not go back says the rest of the word; nothing else is lost.
    assert {*range(len(expected))} - {h.unit for h in heard} <= {inside}


def test_notes_and_long_rests_between_lines_are_no_words() -> None:
    drill = drill_of(FERRY)
    plain = record(say(drill, Voice.HIGH, 196, speed=Speed.NATURAL).samples)
    expected = expect_syllables(drill, Delivery.CHANT)
    seconds = np.arange(round(1.2 * RATE)) / RATE
    note = 0.1 * np.sin(2 * np.pi * 196 * seconds) + 0.05 * np.sin(2 * np.pi * 392 * seconds)
    more = [*np.zeros(2 * RATE), *note, *np.zeros(RATE)]
    places = [(start + end) // 2 for start, end in find_pauses(plain, 0.3)[:-1]]
    parts = np.split(plain.samples, places)
    take = record(np.concatenate([p for part in parts for p in (more, part)]), RATE)
    assert len(find_tones(take)) == len(parts)
    assert find_tones(plain) == []
    short = shorten_rests(take)
    assert short.take.seconds < 1.1 * plain.seconds
    # A frame that begins behind a cut is behind it, however its seconds are rounded.
    frames = 0.01 * np.arange(len(short.frames))
    assert np.allclose([*map(short.restore, frames)], 0.01 * short.frames)
    heard = [one.move(short.restore) for one in aligner.align(short.take, expected)]
    before = aligner.align(plain, expected)
    assert [h.unit for h in heard] == [h.unit for h in before] == [*range(len(expected))]
    # Each syllable stands where its line was moved to.
    moved = [
        (1 + sum(place < h.start * RATE for place in places)) * len(more) / RATE for h in before
    ]
    apart = [
        abs(a.vowel_start - b.vowel_start - m)
        for a, b, m in zip(heard, before, moved, strict=True)
    ]
    assert np.quantile(apart, 0.95) < 0.05
