"""Forms become typed choices; everything else is refused in one line."""

from __future__ import annotations

from contextlib import suppress
from urllib.parse import urlencode

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import DrillgenError, OptionError
from drillgen.core.options import PageOptions, PageSize, Strategy
from drillgen.core.values import Passage
from drillgen.web.forms import (
    Choices,
    Steps,
    TooLargeError,
    parse_body,
    read_choices,
)
from drillgen.web.limits import Limits

LIMITS = Limits()


def test_an_empty_form_is_the_fresh_page() -> None:
    assert read_choices({}, LIMITS) == Choices()


def test_a_box_that_a_page_does_not_have_is_as_at_first() -> None:
    assert read_choices({"text": "Hi."}, LIMITS).review
    assert not read_choices({"text": "Hi.", "steps": "all"}, LIMITS).review


def test_every_choice_is_read() -> None:
    choices = read_choices(
        {
            "text": "The tide\r\nturns.\r",
            "title": "  A  title ",
            "target": "KIT",
            "accent": "non-rhotic",
            "partial": "distance",
            "rungs": "5",
            "shown": "2",
            "pitch": "196",
            "size": "letter",
            "large": "1",
            "discreet": "1",
            "ipa": "1",
            "repetitions": "7",
            "steps": "shown",
            "asked": "What turns?",
        },
        LIMITS,
    )
    assert choices.text == "The tide\nturns.\n"
    assert choices.title == "A title"
    assert choices.drill.target == "IH"
    assert choices.drill.accent == "non-rhotic"
    assert choices.drill.strategy is Strategy.DISTANCE
    assert (choices.drill.rungs, choices.shown, choices.top) == (5, 2, 6)
    assert choices.pitch is not None
    assert choices.pitch.note == "G3"
    assert choices.page == PageOptions(PageSize.LETTER, large=True)
    assert choices.discreet
    assert choices.ipa
    assert not choices.review, "a box that is not ticked is not sent"
    assert choices.repetitions == 7
    assert choices.steps is Steps.SHOWN
    assert choices.prompt == "What turns?"


def test_heading_is_the_title_unless_one_is_given() -> None:
    assert read_choices({"text": "# Tide\n\nIt turns."}, LIMITS).passage == Passage(
        "It turns.", "Tide"
    )
    given_title = read_choices({"text": "# Tide\n\nIt turns.", "title": "Mine"}, LIMITS)
    assert given_title.passage.title == "Mine"


def test_no_pitch() -> None:
    assert read_choices({"text": "x", "pitch": "none"}, LIMITS).pitch is None
    assert read_choices({"text": "x", "pitch": ""}, LIMITS).pitch is None


def test_slider_never_points_past_the_full_swap() -> None:
    assert read_choices({"rungs": "1", "shown": "9"}, LIMITS).shown == 2


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("target", "Q"),
        ("accent", "posh"),
        ("partial", "some"),
        ("rungs", "13"),
        ("rungs", "-1"),
        ("rungs", "1.5"),
        ("rungs", "٣"),
        ("rungs", "9" * 300),
        ("shown", "x"),
        ("repetitions", "0"),
        ("pitch", "H9"),
        ("pitch", "10"),
        ("size", "a5"),
        ("steps", "few"),
    ],
)
def test_unknown_choices(name: str, value: str) -> None:
    with pytest.raises(OptionError) as caught:
        read_choices({"text": "x", name: value}, LIMITS)
    assert "\n" not in str(caught.value)


@given(st.dictionaries(st.text(max_size=8), st.text(max_size=40), max_size=5))
@settings(max_examples=60, derandomize=True, deadline=None)
def test_any_fields_come_through_the_body(fields: dict[str, str]) -> None:
    assert parse_body(urlencode(fields).encode(), LIMITS) == fields


@given(st.binary(max_size=200))
@settings(max_examples=100, derandomize=True, deadline=None)
def test_any_bytes_are_read_or_refused(body: bytes) -> None:
    # Anything but an error that a user can mend fails the test.
    with suppress(DrillgenError):
        assert isinstance(read_choices(parse_body(body, LIMITS), LIMITS), Choices)


def test_limits_are_met_exactly() -> None:
    tight = Limits(words=3, characters=12, title=2)
    assert read_choices({"text": "a bb ccc"}, tight).text == "a bb ccc"
    for fields in ({"text": "a b c d"}, {"text": "a" * 13}, {"text": "a", "title": "abc"}):
        with pytest.raises(TooLargeError):
            read_choices(fields, tight)
