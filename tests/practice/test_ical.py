"""The calendar file against RFC 5545 and a reader of its own."""

from __future__ import annotations

import datetime
import re
import uuid

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from drillgen.core.errors import OptionError
from drillgen.practice.calendar import export_calendar
from drillgen.practice.plan import make_plan

MONDAY = datetime.date(2030, 1, 7)
PLAN = make_plan(weeks=2, days=3, minutes=20, start=MONDAY)
EVENING = datetime.time(18, 30)


def test_read_back() -> None:
    calendar = Calendar.from_ical(export_calendar(PLAN, time=EVENING))
    events = calendar.walk("VEVENT")
    assert len(events) == len(PLAN.sessions)
    for event, session in zip(events, PLAN.sessions, strict=True):
        start = event.decoded("dtstart")
        # RFC 5545, 3.3.5, form 1: floating, no time zone.
        assert start == datetime.datetime.combine(session.date or MONDAY, EVENING)
        assert start.tzinfo is None
        assert event.decoded("duration") == datetime.timedelta(minutes=20)
        assert str(event["summary"]) == "Reading practice"


def test_whole_days() -> None:
    calendar = Calendar.from_ical(export_calendar(PLAN))
    for event, session in zip(calendar.walk("VEVENT"), PLAN.sessions, strict=True):
        # RFC 5545, 3.6.1: a DATE start without end lasts that day.
        assert event.decoded("dtstart") == session.date
        assert event["dtstart"].params["VALUE"] == "DATE"
        assert "duration" not in event
        assert "dtend" not in event
        assert str(event["transp"]) == "TRANSPARENT"


@settings(max_examples=60, derandomize=True, deadline=None)
@given(st.text(st.characters(exclude_categories=("C", "Zl", "Zp")), min_size=1, max_size=120))
def test_any_title_survives(title: str) -> None:
    if not title.strip() or not title.isprintable():
        with pytest.raises(OptionError, match="title"):
            export_calendar(PLAN, title=title)
        return
    data = export_calendar(PLAN, title=title)
    # RFC 5545, 3.1: CRLF after every line, at most 75 octets in each, and no
    # character cut in two.
    lines = data.split(b"\r\n")
    assert lines[-1] == b""
    for line in lines[:-1]:
        assert len(line) <= 75
        assert b"\n" not in line
        assert b"\r" not in line
        line.decode("utf-8")
    unfolded = data.replace(b"\r\n ", b"").decode("utf-8")
    # RFC 5545, 3.3.11: backslash, semicolon and comma are escaped.
    written = re.search(r"^SUMMARY(?:;[^:]*)?:(.*)\r$", unfolded, re.M)
    assert written is not None
    assert re.sub(r"\\(.)", r"\1", written[1]) == title
    assert not re.search(r"(?<!\\)(?:\\\\)*[;,]", written[1])


def test_what_the_standard_requires() -> None:
    text = export_calendar(PLAN, time=EVENING).decode()
    # RFC 5545, 3.6: PRODID and VERSION once each; 3.6.1: UID and DTSTAMP in each event.
    assert text.startswith("BEGIN:VCALENDAR\r\n")
    assert text.endswith("END:VCALENDAR\r\n")
    assert text.count("\r\nPRODID:") == text.count("\r\nVERSION:2.0\r\n") == 1
    for name in ("UID:", "DTSTAMP:", "DTSTART:"):
        assert text.count(f"\r\n{name}") == len(PLAN.sessions)
    # 3.8.7.2: DTSTAMP is in UTC.
    assert len(re.findall(r"\r\nDTSTAMP:\d{8}T\d{6}Z\r\n", text)) == len(PLAN.sessions)
    assert "TZID" not in text
    assert "VTIMEZONE" not in text


def test_uids_are_plain_uuids() -> None:
    # RFC 7986, 5.3: a UID should be a UUID, and hold nothing about the machine or the user.
    text = export_calendar(PLAN).decode()
    found = re.findall(r"\r\nUID:(.*)\r\n", text)
    assert len(set(found)) == len(PLAN.sessions)
    assert {uuid.UUID(uid).version for uid in found} == {5}


def test_same_plan_same_bytes_and_longer_plan_same_uids() -> None:
    assert export_calendar(PLAN, time=EVENING) == export_calendar(PLAN, time=EVENING)
    longer = make_plan(weeks=3, days=3, minutes=20, start=MONDAY)
    short = set(re.findall(rb"UID:(.*)\r", export_calendar(PLAN)))
    assert short < set(re.findall(rb"UID:(.*)\r", export_calendar(longer)))


def test_discreet() -> None:
    text = export_calendar(PLAN, time=EVENING).decode().lower()
    for word in ("drill", "voice", "resonan", "swap", "vowel", "gender", "therapy", "mailto"):
        assert word not in text
    assert text.count("class:private") == len(PLAN.sessions)


def test_what_is_refused() -> None:
    with pytest.raises(OptionError, match="no start date"):
        export_calendar(make_plan())
    for title in ("", "  ", "two\nlines", "bell\a"):
        with pytest.raises(OptionError, match="title"):
            export_calendar(PLAN, title=title)
    with pytest.raises(OptionError, match="time zone"):
        export_calendar(PLAN, time=datetime.time(18, 30, tzinfo=datetime.UTC))
