"""The report on a take: a drill and what was measured, as a document."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from drillgen.core.accents import load_accent
from drillgen.core.document import (
    Axis,
    Block,
    Column,
    Document,
    Items,
    Keep,
    Mark,
    Paragraph,
    Plot,
    Section,
    Span,
    Spans,
    Table,
    Vowel,
    prose,
    prose_rows,
)
from drillgen.core.formants import hz_to_bark
from drillgen.core.pitch import pitch_at
from drillgen.core.printable import clean
from drillgen.core.take import Change, Comparison, Syllable, TakeReport, VowelMean
from drillgen.core.values import Delivery, Drill, Tune
from drillgen.core.wording import TakeWording, choose_wording
from drillgen.practice.takes import TakeRow
from drillgen.sheets.content import format_pitch
from drillgen.sheets.parts import care_section, make_document

_ROWS: Final = 24
"""Slips that are listed; all are marked in the text."""

_HELD: Final = 0.8
"""Share of the voiced time near the target, or of the earlier range, that counts as kept
(common practice)."""

_FEW: Final = 3
"""Tokens that a vowel needs to stand in the plot by itself."""


def lay_out_take(
    drill: Drill,
    report: TakeReport,
    *,
    history: tuple[TakeRow, ...] = (),
    title: str = "",
    discreet: bool = False,
) -> Document:
    """What a take shows, as a reader sees it."""
    wording = choose_wording(discreet)
    words = wording.take
    blocks: list[Block] = [
        Paragraph(prose(words.about)),
        _signs_section(report, words),
        _text_section(drill, report, words),
        Section(words.melody, (_measure_table(_melody_rows(report, words), words),)),
        Section(words.flow, (_measure_table(_flow_rows(report, words), words),), beside=True),
        _sound_section(drill, report, words),
    ]
    if len(history) > 1:
        blocks.append(Section(words.history, (_plot_history(history, words),), keep=Keep.WHOLE))
    if report.doubts:
        doubts = tuple(prose(words.doubt_texts[doubt]) for doubt in report.doubts)
        blocks.append(Section(words.doubts, (Items(doubts),)))
    blocks.append(care_section(wording, beside=False))
    pitch = pitch_at(report.target) if report.target else None
    return make_document(clean(title) or words.title, wording, blocks, pitch=pitch, keys=False)


# Signs


def _signs_section(report: TakeReport, words: TakeWording) -> Section:
    comparison, melody = report.comparison, report.melody
    change = comparison.change if comparison else Change.UNKNOWN
    sound = {Change.MORE: True, Change.UNKNOWN: None, Change.UNSURE: None}.get(change, False)
    held: bool | None = None
    if report.delivery is Delivery.CHANT and melody.near is not None:
        held = melody.near >= _HELD
    tune: bool | None = None
    if report.delivery is not Delivery.CHANT:
        asked = len(melody.endings)
        done = sum(ending.done for ending in melody.endings)
        tune = done >= _HELD * asked if asked else None
        if comparison and comparison.span_kept:
            tune = tune is not False and comparison.span_kept >= _HELD
    texts = {True: words.seen, False: words.unseen, None: words.unknown}
    rows = (
        (words.sign_sound, texts[sound]),
        (words.sign_pitch, texts[held]),
        (words.sign_melody, texts[tune]),
        (words.sign_feel, words.ask),
    )
    name, found = words.sign_columns
    table = Table((Column(name, names=True), Column(found, 1)), prose_rows(rows))
    return Section(words.signs, (table,))


# Text


def _text_section(drill: Drill, report: TakeReport, words: TakeWording) -> Section:
    slips = report.slips
    note = words.slips if slips else words.no_slips
    blocks: list[Block] = [Paragraph(spans) for spans in _mark_text(drill, report)]
    if slips:
        columns = tuple(map(Column, words.slip_columns))
        rows = [_describe_slip(drill, slip, words) for slip in slips[:_ROWS]]
        blocks.append(Table(columns, prose_rows(rows), halves=True))
    if len(slips) > _ROWS:
        blocks.append(Paragraph(prose(words.more.format(count=len(slips) - _ROWS))))
    shown = note.format(slips=len(slips), heard=report.heard)
    if vague := sum(s.vague for s in report.syllables):
        shown += " " + words.vague.format(count=vague)
    return Section(words.text, tuple(blocks), note=shown)


def _mark_text(drill: Drill, report: TakeReport) -> Iterator[Spans]:
    """The original text, a paragraph a value; slips in brackets, missing words in others."""
    slips = {(slip.phrase, slip.token) for slip in report.slips}
    vague = {(s.phrase, s.token) for s in report.syllables if s.vague}
    lost = set(report.missing)
    missing = {(s.phrase, s.token) for s in report.syllables if s.word in lost}
    spans: list[Span] = []
    paragraph = 0
    for number, phrase in enumerate(drill.phrases):
        if phrase.paragraph != paragraph and spans:
            yield tuple(spans)
            spans = []
        paragraph = phrase.paragraph
        for index, token in enumerate(phrase.tokens):
            text = token.text if not token.text.isspace() else " "
            if (number, index) in missing:
                spans.append(Span(f"({text})"))
            elif (number, index) in slips:
                spans.append(Span(f"[{text}]", vowel=Vowel.WATCHED))
            elif (number, index) in vague:
                spans.append(Span(f"{text} [?]"))
            elif spans and not spans[-1].vowel:
                spans[-1] = Span(spans[-1].text + text)
            else:
                spans.append(Span(text))
    if spans:
        yield tuple(spans)


def _describe_slip(drill: Drill, slip: Syllable, words: TakeWording) -> tuple[str, str, str, str]:
    token = drill.phrases[slip.phrase].tokens[slip.token]
    heard = _ipa(drill, slip.said)
    if slip.said == slip.own:
        heard = f"{heard}, {words.own}"
    elif slip.said != drill.target:
        heard = words.near_to.format(vowel=heard)
    minutes, seconds = divmod(slip.start, 60)
    return clean(token.text), _ipa(drill, slip.meant), heard, f"{minutes:.0f}:{seconds:04.1f}"


def _ipa(drill: Drill, symbol: str) -> str:
    vowels = load_accent(drill.accent).vowels
    return f"/{vowels[symbol].ipa if symbol in vowels else symbol.lower()}/"


# Measures


def _measure_table(rows: Iterable[tuple[str, str]], words: TakeWording) -> Table:
    name, value = words.measures
    return Table((Column(name, names=True), Column(value, 1)), prose_rows(rows))


def _melody_rows(report: TakeReport, words: TakeWording) -> Iterator[tuple[str, str]]:
    melody = report.melody
    if not melody.median:
        yield words.median, words.unknown
        return
    note, hertz = format_pitch(pitch_at(melody.median), choose_wording(False))
    yield words.median, f"{note} {hertz}".strip()
    chant = report.delivery is Delivery.CHANT
    if report.target and chant:
        distance = 1200 * math.log2(melody.median / report.target)
        asked = pitch_at(report.target).note
        yield words.target.format(note=asked), words.cents.format(value=_sign(distance))
        if melody.near is not None:
            yield words.near, f"{melody.near:.0%}"
    yield words.drift, words.cents.format(value=_sign(melody.drift))
    yield words.span, words.semitones.format(value=f"{melody.span:.1f}")
    yield words.spread, words.semitones.format(value=f"{melody.spread:.1f}")
    if chant:
        return
    if report.comparison and report.comparison.span_kept:
        yield words.kept, f"{report.comparison.span_kept:.0%}"
    for name, tune in ((words.falls, Tune.FALL), (words.rises, Tune.RISE)):
        ends = [ending.done for ending in melody.endings if ending.tune is tune]
        if ends:
            yield name, words.of.format(done=sum(ends), asked=len(ends))


def _flow_rows(report: TakeReport, words: TakeWording) -> Iterator[tuple[str, str]]:
    yield words.missing, str(len(report.missing) or words.none)
    for name, spans in ((words.added, report.added), (words.pauses, report.pauses)):
        total = sum(end - start for start, end in spans)
        said = words.seconds.format(value=f"{total:.1f}", count=len(spans))
        yield name, said if spans else words.none
    yield words.pace, words.per_second.format(value=f"{report.pace:.1f}")


# Sound


def _sound_section(drill: Drill, report: TakeReport, words: TakeWording) -> Section:
    said = _describe_change(report.comparison, words) if report.comparison else words.alone
    anchor = _ipa(drill, report.anchor)
    distant = report.delivery is Delivery.CARRY_OVER and any(m.away for m in report.vowels)
    old = {m.vowel: m.away for m in report.comparison.before} if report.comparison else {}
    rows = tuple(
        (
            _ipa(drill, mean.vowel),
            str(mean.tokens),
            *(_hertz(value, words) for value in (mean.f1, mean.f2, mean.f3)),
            f"{hz_to_bark(mean.f3) - hz_to_bark(mean.f2):.1f}",
            *([_describe_distance(mean.away, old.get(mean.vowel), words)] if distant else ()),
        )
        for mean in report.vowels
        if mean.tokens >= _FEW
    )
    blocks: list[Block] = [Paragraph(prose(said))]
    if rows:
        first, *others = words.vowel_columns
        columns = [Column(first, names=True), *map(Column, others)]
        if distant:
            columns.append(Column(words.away.format(vowel=anchor)))
            blocks.append(Paragraph(prose(words.away_note.format(vowel=anchor))))
        blocks += [Table(tuple(columns), prose_rows(rows)), _plot_vowels(drill, report, words)]
    return Section(words.sound, tuple(blocks))


def _describe_distance(now: float | None, before: float | None, words: TakeWording) -> str:
    if not now:
        return ""
    return f"{now:.1f}" + (f" ({words.before} {before:.1f})" if before else "")


def _sign(value: float, places: int = 0) -> str:
    shown = f"{value:+.{places}f}".replace("-", "−")
    # What rounds to nothing has no sign.
    return shown if float(shown[1:]) else shown[1:]


def _hertz(value: float, words: TakeWording) -> str:
    return words.hertz_bark.format(hertz=f"{value:.0f}", bark=f"{hz_to_bark(value):.1f}")


def _describe_change(comparison: Comparison, words: TakeWording) -> str:
    f2 = comparison.f2
    value, low, high = (_sign(100 * share, 1) for share in (f2.value, f2.low, f2.high))
    gap = _sign(comparison.gap.value, 2)
    text = words.changes[comparison.change]
    return text.format(pairs=comparison.pairs, value=value, low=low, high=high, gap=gap)


def _plot_vowels(drill: Drill, report: TakeReport, words: TakeWording) -> Plot:
    """F2 from right to left and F1 from the top down, as phoneticians draw it."""
    marks = [
        Mark(round(s.f2), round(s.f1), small=True) for s in report.syllables if s.said and s.f2
    ]
    shown = [mean for mean in report.vowels if mean.tokens >= _FEW]
    marks += [_mark(mean, _ipa(drill, mean.vowel)) for mean in shown]
    if report.comparison:
        marks += [
            _mark(mean, f"{_ipa(drill, mean.vowel)} {words.before}", ring=True)
            for mean in report.comparison.before
            if mean.tokens >= _FEW
        ]
    alt = ", ".join(
        f"{mark.label} F1 {mark.up:g} Hz, F2 {mark.across:g} Hz" for mark in marks if mark.label
    )
    across = Axis("F2 (Hz)", 3200, 600, (3000, 2500, 2000, 1500, 1000))
    up = Axis("F1 (Hz)", 1100, 200, (1000, 800, 600, 400))
    return Plot(across, up, tuple(marks), words.plot.format(vowels=alt))


def _mark(mean: VowelMean, label: str, *, ring: bool = False) -> Mark:
    return Mark(round(mean.f2), round(mean.f1), label, open=ring)


def _plot_history(rows: tuple[TakeRow, ...], words: TakeWording) -> Plot:
    values = [row.f2 for row in rows]
    low, high = 100 * (min(values) // 100 - 1), 100 * (max(values) // 100 + 2)
    marks = tuple(Mark(n, round(row.f2), row.date) for n, row in enumerate(rows, 1))
    points = "; ".join(f"{mark.label} {mark.up:g} Hz" for mark in marks)
    step = max(100, 100 * round((high - low) / 500))
    ticks = tuple(float(hz) for hz in range(int(low), int(high) + 1, step))
    across = Axis(words.history_across, 0.5, len(rows) + 0.5, tuple(range(1, len(rows) + 1)))
    alt = words.history_alt.format(points=points)
    return Plot(across, Axis(words.history_up, low, high, ticks), marks, alt, joined=True)
