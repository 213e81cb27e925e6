"""Prompts are chosen repeatably, spread over topics, and never twice."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import InputError, OptionError
from drillgen.corpus.reader import Prompt, load_prompts
from drillgen.corpus.select import (
    append_history,
    choose_prompts,
    pair_answers,
    parse_sheets,
)

TOPICS = ("food", "travel", "work")
POOL = tuple(
    Prompt(f"{topic}-{step}-{word}", topic, step, "Why?", "So it is.", "So.")
    for topic in TOPICS
    for step in (1, 2, 3)
    for word in ("a", "b", "c", "d")
)


def keys(prompts: tuple[Prompt, ...]) -> tuple[str, ...]:
    return tuple(prompt.key for prompt in prompts)


def test_documented_example_is_fixed() -> None:
    chosen = choose_prompts(load_prompts(), step=2, topic="errands", count=6, seed=7)
    # Every errand of step 2, in the order that seed 7 gives on any machine.
    assert len(set(keys(chosen))) == 6
    assert {(p.topic, p.step) for p in chosen} == {("errands", 2)}
    again = choose_prompts(reversed(load_prompts()), step=2, topic="errands", count=6, seed=7)
    assert keys(again) == keys(chosen)


def test_order_is_that_of_sha256() -> None:
    # By hand: sorted by hashlib.sha256(b"7\\0" + key), as FIPS 180-4 defines it.
    import hashlib

    chosen = choose_prompts(POOL, step=1, topic="food", count=4, seed=7)
    by_hand = sorted(
        (p.key for p in POOL if p.topic == "food" and p.step == 1),
        key=lambda key: hashlib.sha256(b"7\0" + key.encode()).hexdigest(),
    )
    assert list(keys(chosen)) == by_hand


def test_seeds_differ() -> None:
    chosen = {
        keys(choose_prompts(load_prompts(), step=1, topic=None, count=5, seed=seed))
        for seed in range(20)
    }
    assert len(chosen) == 20


@settings(max_examples=150, derandomize=True, deadline=None)
@given(
    st.permutations(POOL),
    st.sampled_from((None, 1, 2, 3)),
    st.sampled_from((None, *TOPICS)),
    st.integers(1, 12),
    st.integers(-5, 10**9),
    st.sets(st.sampled_from(keys(POOL)), max_size=12),
)
def test_choice_keeps_its_promises(
    pool: list[Prompt],
    step: int | None,
    topic: str | None,
    count: int,
    seed: int,
    history: set[str],
) -> None:
    fresh = [
        p
        for p in POOL
        if step in (None, p.step) and topic in (None, p.topic) and p.key not in history
    ]
    if len(fresh) < count:
        with pytest.raises(OptionError, match=f"only {len(fresh)} prompts are left"):
            choose_prompts(pool, step=step, topic=topic, count=count, seed=seed, history=history)
        return
    chosen = choose_prompts(pool, step=step, topic=topic, count=count, seed=seed, history=history)
    assert len(set(chosen)) == count
    assert set(chosen) <= set(fresh)
    assert chosen == choose_prompts(
        POOL, step=step, topic=topic, count=count, seed=seed, history=tuple(history)
    )
    # Spread: no topic has two more than another that still had prompts to give.
    used = Counter(p.topic for p in chosen)
    have = Counter(p.topic for p in fresh)
    for less in have:
        if used[less] < have[less]:
            assert max(used.values()) <= used[less] + 1
    # A longer sheet begins with the shorter one.
    if count > 1:
        shorter = choose_prompts(
            POOL, step=step, topic=topic, count=count - 1, seed=seed, history=history
        )
        assert chosen[: count - 1] == shorter


def read_history(text: str) -> tuple[str, ...]:
    return tuple(key for sheet in parse_sheets(text) for key in sheet)


def test_history_runs_dry_without_a_repeat() -> None:
    text = ""
    seen: list[str] = []
    for seed in range(6):
        chosen = choose_prompts(
            POOL, step=2, topic=None, count=2, seed=seed, history=read_history(text)
        )
        seen += keys(chosen)
        text = append_history(text, chosen)
    assert sorted(seen) == sorted(key for key in keys(POOL) if "-2-" in key)
    assert read_history(text) == tuple(seen)
    with pytest.raises(OptionError, match=r"only 0 prompts are left at step 2 \(12 are in the"):
        choose_prompts(POOL, step=2, topic=None, count=1, seed=1, history=read_history(text))


def test_topics_used_less_come_first() -> None:
    history = ("food-1-a", "work-1-a", "work-1-b")
    for seed in range(10):
        chosen = choose_prompts(POOL, step=2, topic=None, count=3, seed=seed, history=history)
        assert [p.topic for p in chosen] == ["travel", "food", "work"]


@pytest.mark.parametrize(
    ("step", "topic", "count", "message"),
    [
        (4, None, 1, "step must be 1, 2 or 3, not 4"),
        (0, None, 1, "step must be"),
        (1, "sailing", 1, "topic 'sailing' is unknown; choose one of: food, travel, work"),
        (1, None, 0, "count must be 1 or more"),
        (1, "food", 5, "only 4 prompts are left at step 1 on food, not 5"),
    ],
)
def test_bad_choices(step: int, topic: str | None, count: int, message: str) -> None:
    with pytest.raises(OptionError, match=message):
        choose_prompts(POOL, step=step, topic=topic, count=count, seed=1)


@pytest.mark.parametrize("line", ["two words", "Errands-1-a", "errands", "1-a", "<b>", "a--b"])
def test_bad_history_line(line: str) -> None:
    with pytest.raises(InputError, match=r"used\.txt, line 3: .*errands-1-parcel"):
        parse_sheets(f"# head\nfood-1-a\n{line}\n", name="used.txt")


def test_history_keeps_what_was_there() -> None:
    text = "\ufeff# mine\r\nfood-1-a\r\nold-9-gone"
    grown = append_history(text, POOL[:2])
    assert grown.startswith(text + "\n")
    assert read_history(grown) == ("food-1-a", "old-9-gone", "food-1-b")
    assert append_history(grown, POOL[:2]) == grown


@pytest.mark.parametrize(
    ("text", "answers"),
    [
        ("One.\nTwo.", ["One.", "Two."]),
        ("\ufeffOne.\r\nTwo.\r\n", ["One.", "Two."]),
        ("One,\nstill one.\n\nTwo.", ["One, still one.", "Two."]),
        ("\n\nOne.\n \nTwo.\n\n\n", ["One.", "Two."]),
    ],
)
def test_answers(text: str, answers: list[str]) -> None:
    assert pair_answers(POOL[:2], text) == tuple(zip(POOL[:2], answers, strict=True))


@pytest.mark.parametrize("text", ["", "One.", "One.\nTwo.\nThree.", "One.\n\nTwo.\n\nThree."])
def test_answers_that_do_not_fit(text: str) -> None:
    with pytest.raises(InputError, match=r"mine\.txt: \d answers? for 2 prompts"):
        pair_answers(POOL[:2], text, name="mine.txt")
