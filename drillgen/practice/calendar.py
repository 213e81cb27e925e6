"""A plan as an iCalendar file (RFC 5545), for any calendar program.

Titles are neutral, and the file holds no names and no machine data: the same
plan gives the same bytes. Times float (RFC 5545, 3.3.5, form 1): fifteen
minutes at half past six are at half past six wherever the client is.
"""

from __future__ import annotations

import datetime
import uuid
from typing import TYPE_CHECKING, Final

from drillgen.core.errors import OptionError
from drillgen.core.wording import CalendarWording, choose_wording
from drillgen.practice.plan import Plan, Session

if TYPE_CHECKING:
    from icalendar import Event

PRODID: Final = "-//Reading practice//Plan//EN"
"""Names no program: a calendar shows it to everyone it is shared with."""

_SPACE: Final = uuid.uuid5(uuid.NAMESPACE_URL, "urn:reading-practice:plan")


def export_calendar(
    plan: Plan, *, time: datetime.time | None = None, title: str | None = None, key: str = ""
) -> bytes:
    """The sessions as one event each, UTF-8 with CRLF; without a title a neutral one.

    With `time` an event has that floating local time and the length of the
    session; without, it covers the day and doesn't block it. UIDs (RFC 7986,
    5.3) come from the start date, the session's number and `key`, which keeps the plans of
    several people apart: exporting a changed plan with the same start updates the events.

    Raises OptionError if the plan has no start date, the title is empty or
    has control characters, or `time` has a time zone.
    """
    if plan.start is None:
        raise OptionError("the plan has no start date", "give one, such as 2030-01-31")
    words = choose_wording(discreet=True).calendar
    title = words.title if title is None else title
    if not title.strip() or not title.isprintable():
        raise OptionError("the title must be one line of printable characters")
    if time is not None and time.tzinfo is not None:
        raise OptionError("the time must have no time zone", "write it as 18:30")
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    for session in plan.sessions:
        event = _event(plan, session, plan.start, time, title, words)
        event.add("uid", str(uuid.uuid5(_SPACE, f"{key}{plan.start}/{session.number}")))
        calendar.add_component(event)
    data: bytes = calendar.to_ical()
    return data


def _event(
    plan: Plan,
    session: Session,
    start: datetime.date,
    time: datetime.time | None,
    title: str,
    words: CalendarWording,
) -> Event:
    from icalendar import Event

    event = Event()
    # RFC 5545, 3.6.1, wants a DTSTAMP; a clock would make each file different.
    event.add("dtstamp", datetime.datetime.combine(start, datetime.time(), datetime.UTC))
    event.add("summary", title)
    event.add(
        "description",
        words.event.format(
            number=session.number, sessions=len(plan.sessions), minutes=plan.minutes
        ),
    )
    event.add("class", "PRIVATE")
    day = session.date or start
    if time is None:
        event.add("dtstart", day)
        event.add("transp", "TRANSPARENT")
    else:
        event.add("dtstart", datetime.datetime.combine(day, time.replace(microsecond=0)))
        event.add("duration", datetime.timedelta(minutes=plan.minutes))
    return event
