"""The plan fits its time, climbs one stage at a time and follows the log."""

from __future__ import annotations

import datetime
import itertools
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import OptionError
from drillgen.core.options import Unit
from drillgen.core.values import Delivery, VersionKind
from drillgen.practice.log import LogEntry, Tension, parse_log
from drillgen.practice.plan import (
    FULL,
    MARKED,
    STRETCH,
    Activity,
    Move,
    Plan,
    Rung,
    Stage,
    advise_step,
    find_start,
    format_log_sheet,
    lay_out_session,
    list_stages,
    make_plan,
)

DATA = Path(__file__).parent / "data"
MONDAY = datetime.date(2030, 1, 7)


def entry(stage: Stage, met: int = 4, tension: Tension = Tension.NONE) -> LogEntry:
    return LogEntry(
        None, 1, stage.unit, stage.rung.kind, stage.rung.number, 15,
        met > 0, met > 1, met > 2, met > 3, tension,
    )  # fmt: skip


def shares(stages: tuple[Stage, ...]) -> list[float]:
    order = {VersionKind.FULL: 100, VersionKind.MARKED: 0}
    return [order.get(stage.rung.kind, stage.rung.number) for stage in stages]


@settings(max_examples=100, derandomize=True, deadline=None)
@given(st.integers(0, 12), st.sampled_from(Unit), st.sampled_from(Unit))
def test_way_climbs_and_fades(rungs: int, first: Unit, last: Unit) -> None:
    order = list(Unit)
    if order.index(first) > order.index(last):
        with pytest.raises(OptionError, match="comes after"):
            list_stages(rungs, first=first, last=last)
        return
    stages = list_stages(rungs, first=first, last=last)
    assert len(set(stages)) == len(stages)
    units = [order.index(stage.unit) for stage in stages]
    assert units == sorted(units)
    assert set(units) == set(range(order.index(first), order.index(last) + 1))
    for unit, group in itertools.groupby(stages, key=lambda stage: stage.unit):
        fade = shares(tuple(group))
        assert fade == sorted(fade, reverse=True)
        assert (fade[0], fade[-1]) == (100, 0)
        assert len(fade) == (2 if unit in (Unit.SYLLABLE, Unit.WORD) else rungs + 2)


@pytest.mark.parametrize("minutes", range(5, 61))
def test_session_fits_its_time(minutes: int) -> None:
    for stage in list_stages(2):
        blocks = tuple(lay_out_session(stage, minutes))
        assert sum(block.seconds for block in blocks) == minutes * 60
        assert all(block.seconds > 0 and block.seconds % 30 == 0 for block in blocks)
        assert blocks[0].activity is Activity.WARM_UP
        assert blocks[-1].activity is Activity.CLOSE
        reads = [block for block in blocks if block.activity is Activity.READ]
        assert max(block.seconds for block in reads) <= STRETCH
        # In teaching order; chant on the full swap, carry-over on the original.
        assert [d for d, _ in itertools.groupby(block.delivery for block in reads)] == list(
            Delivery
        )
        for block in reads:
            wanted = {Delivery.CHANT: FULL, Delivery.CARRY_OVER: MARKED}
            assert block.rung == wanted.get(block.delivery or Delivery.CHANT, stage.rung)
        # A rest between any two stretches of voice.
        for left, right in itertools.pairwise(blocks):
            assert not (left.activity is right.activity is Activity.READ)


def test_quarter_of_an_hour() -> None:
    blocks = tuple(lay_out_session(Stage(Unit.WORD, FULL), 15))
    found = [(block.activity.value, block.seconds) for block in blocks]
    assert found == [
        ("warm-up", 180), ("read", 120), ("rest", 30), ("read", 240), ("rest", 30),
        ("read", 210), ("close", 90),
    ]  # fmt: skip


PLANS = st.builds(
    make_plan,
    weeks=st.integers(1, 12),
    days=st.integers(1, 7),
    minutes=st.integers(5, 60),
    rungs=st.integers(0, 4),
    start=st.none() | st.dates(datetime.date(2026, 1, 1), datetime.date(2040, 1, 1)),
)


@settings(max_examples=80, derandomize=True, deadline=None)
@given(PLANS)
def test_plan_keeps_its_promises(plan: Plan) -> None:
    sessions = plan.sessions
    assert len(sessions) == plan.weeks * plan.days
    assert [session.number for session in sessions] == list(range(1, len(sessions) + 1))
    assert all(session.seconds == plan.minutes * 60 for session in sessions)
    stages = list_stages(plan.rungs)
    places = [stages.index(session.stage) for session in sessions]
    assert places[0] == 0
    assert all(right - left in (0, 1) for left, right in itertools.pairwise(places))
    assert plan.finishes == (places[-1] == len(stages) - 1) == (len(sessions) >= len(stages))
    if plan.finishes:
        sizes = [len(list(group)) for _, group in itertools.groupby(places)]
        assert max(sizes) - min(sizes) <= 1
    for session in sessions:
        if plan.start is None:
            assert session.date is None
        else:
            assert session.date is not None
            assert (session.date - plan.start).days // 7 == session.week - 1
    dates = [session.date for session in sessions if session.date]
    assert dates == sorted(set(dates))


def test_rest_days_are_spread() -> None:
    plan = make_plan(weeks=1, days=5, start=MONDAY)
    assert [s.date.weekday() for s in plan.sessions if s.date] == [0, 1, 2, 4, 5]
    plan = make_plan(weeks=1, days=3, start=MONDAY)
    assert [s.date.weekday() for s in plan.sessions if s.date] == [0, 2, 4]


def advice_rows() -> list[list[str]]:
    lines = (DATA / "advice.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines if line and line[0] != "#"]
    assert rows
    return rows


@pytest.mark.parametrize(("label", "sessions", "move"), advice_rows())
def test_advice(label: str, sessions: str, move: str) -> None:
    log = []
    for part in sessions.split():
        stage, met, tension = part.split(":")
        unit = {"w": Unit.WORD, "p": Unit.PHRASE}[stage]
        log.append(entry(Stage(unit, FULL), int(met), Tension(int(tension))))
    advice = advise_step(log)
    assert advice.move == move, label
    assert advice.reason.endswith(".")


def test_a_better_session_never_moves_back() -> None:
    order = [Move.ASK, Move.STEP_BACK, Move.STAY, Move.STEP_UP]
    stage = Stage(Unit.WORD, FULL)
    for before in itertools.product(range(5), Tension):
        first = entry(stage, *before)
        for met, tension in itertools.product(range(4), Tension):
            worse = advise_step([first, entry(stage, met, tension)]).move
            better = advise_step([first, entry(stage, met + 1, tension)]).move
            assert order.index(worse) <= order.index(better)
        for met, tension in itertools.product(range(5), (Tension.SOME, Tension.STRONG)):
            tense = advise_step([first, entry(stage, met, tension)]).move
            eased = advise_step([first, entry(stage, met, Tension(tension - 1))]).move
            assert order.index(tense) <= order.index(eased)


def test_plan_goes_on_from_the_log() -> None:
    stages = list_stages(1)
    here = stages[6]
    good = (entry(here), entry(here))
    plan = make_plan(weeks=1, days=3, rungs=1, log=good)
    assert plan.advice.move is Move.STEP_UP
    assert plan.sessions[0].stage == stages[7]
    assert plan.progress is not None
    assert plan.progress.sessions == 2
    back = make_plan(weeks=1, days=3, rungs=1, log=(*good, entry(here, 4, Tension.STRONG)))
    assert back.sessions[0].stage == stages[5]
    stay = make_plan(weeks=1, days=3, rungs=1, log=(entry(here),))
    assert stay.sessions[0].stage == here


def test_ends_of_the_way_hold() -> None:
    stages = list_stages(0)
    assert find_start(stages, [entry(stages[0], 0)])[0] == 0
    assert find_start(stages, [entry(stages[-1])] * 2)[0] == len(stages) - 1


@settings(max_examples=80, derandomize=True, deadline=None)
@given(
    st.integers(0, 5),
    st.integers(1, 12),
    st.sampled_from(Unit),
    st.tuples(st.sampled_from(Unit), st.sampled_from(Unit)).map(
        lambda pair: sorted(pair, key=list(Unit).index)
    ),
)
def test_any_log_fits_any_way(rungs: int, rung: int, unit: Unit, ends: list[Unit]) -> None:
    stages = list_stages(rungs, first=ends[0], last=ends[1])
    log = [entry(Stage(unit, Rung(VersionKind.PARTIAL, rung)))]
    place, _ = find_start(stages, log)
    if unit in {stage.unit for stage in stages}:
        assert stages[place].unit is unit
    else:
        assert place in (0, len(stages) - 1)


def test_log_sheet_is_read_back() -> None:
    plan = make_plan(weeks=2, days=4, rungs=2, start=MONDAY)
    text = format_log_sheet(plan)
    assert parse_log(text) == ()
    filled = text.replace(",,,,,,", ",yes,yes,yes,yes,none,")
    entries = parse_log(filled)
    assert len(entries) == len(plan.sessions)
    for session, found in zip(plan.sessions, entries, strict=True):
        assert (found.session, found.date) == (session.number, session.date)
        assert Stage(found.unit, Rung(found.kind, found.rung)) == session.stage
        assert found.met == 5


@pytest.mark.parametrize(
    ("name", "value"),
    [("weeks", 0), ("weeks", 53), ("days", 0), ("days", 8), ("minutes", 4), ("minutes", 61),
     ("rungs", -1), ("rungs", 13)],
)  # fmt: skip
def test_bad_numbers(name: str, value: int) -> None:
    with pytest.raises(OptionError, match=f"^{name} must be .* not {value}$"):
        make_plan(**{name: value})  # type: ignore[arg-type]


def test_a_start_at_the_end_of_time() -> None:
    with pytest.raises(OptionError, match="too late"):
        make_plan(start=datetime.date.max)
