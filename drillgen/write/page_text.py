"""Every sentence that only the practice page says, ordinary and discreet.

What it shares with the printed sheet is in drillgen/core/wording.py. The rest
prompts and the criteria for moving on are common practice in voice teaching;
they defer to a licensed clinician.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class PageWording:
    """The sentences of a practice page. Fields stand in braces, as for `str.format`."""

    steps: str
    """Name of the step list, for screen readers."""

    finish: str
    """The last step."""

    view: str
    view_phrase: str
    view_whole: str
    bridge: str
    """What to do with a partial version, on the way to the original words."""

    version: str
    """Label of the choice among several versions."""

    place: str
    """Fields: at, of."""

    whole_place: str
    before: str
    after: str
    next_step: str
    """Field: name."""

    empty: str
    count: str
    counted: str
    """Fields: done, of."""

    controls: str
    """Name of the button bar, for screen readers."""

    cues: tuple[str, str, str]
    """First, middle and last repetition."""

    again: str
    """When all repetitions are done."""

    tone: str
    tone_start: str
    """Field: note."""

    tone_stop: str
    """Field: note."""

    lower: str
    higher: str
    home: str
    """Field: note."""

    tone_note: str
    tone_none: str
    """Where the browser has no Web Audio."""

    pacer: str
    pacer_start: str
    pacer_stop: str
    speed: str
    speed_value: str
    """Field: rate."""

    pacer_note: str
    trace: str
    trace_start: str
    trace_stop: str
    trace_alt: str
    trace_note: str
    trace_wait: str
    trace_quiet: str
    trace_on: str
    """Within 50 cents of the note."""

    trace_above: str
    """Field: semitones."""

    trace_below: str
    """Field: semitones."""

    trace_denied: str
    trace_missing: str
    trace_insecure: str
    trace_failed: str

    rest: str
    rest_texts: tuple[str, ...]
    rest_time: str
    """Field: seconds."""

    rest_over: str
    rest_on: str
    rest_stop: str

    check: str
    check_note: str
    check_texts: tuple[str, ...]
    check_yes: str
    check_no: str
    total: str
    """Field: count."""

    reading_help: str
    """Heading above key and marks."""

    about: str
    about_texts: tuple[str, ...]
    """Field: every."""

    no_script: str


_ABOUT: Final = (
    "A rest is offered after every {every} phrases, and repetitions are counted when the pacer "
    "comes to the end, too.",
    "Nothing is kept and nothing is sent. What you count is forgotten when you close the page.",
    "The page is one file. It works without a network.",
    "Print it to have all versions on paper.",
)

ORDINARY: Final = PageWording(
    steps="Steps",
    finish="Finish",
    view="Show",
    view_phrase="One phrase",
    view_whole="Whole text",
    bridge="On the way there, read the partly swapped text. Keep the forward posture in the "
    "vowels that return.",
    version="Version",
    place="Phrase {at} of {of}",
    whole_place="Whole text",
    before="Previous phrase",
    after="Next phrase",
    next_step="Go on: {name}",
    empty="There is nothing to read on this page.",
    count="Count one",
    counted="{done} of {of} repetitions",
    controls="Controls",
    cues=(
        "Overshoot: make it brighter than you would ever use.",
        "Ease back a little. Stay bright.",
        "Ease back until it is bright and still yours.",
    ),
    again="Done. Take the next one, or stay as long as it feels easy.",
    tone="Target pitch",
    tone_start="Play {note}",
    tone_stop="Stop {note}",
    lower="Down a semitone",
    higher="Up a semitone",
    home="Back to {note}",
    tone_note="It starts softly. Turn the device up only as far as you need.",
    tone_none="This browser can’t play the note.",
    pacer="Pacer",
    pacer_start="Start pacer",
    pacer_stop="Pause pacer",
    speed="Speed",
    speed_value="{rate} syllables a second",
    pacer_note="It lights one syllable after the other and waits at the breath marks. The space "
    "bar starts and pauses it; the arrow keys change the phrase.",
    trace="Live pitch",
    trace_start="Show pitch",
    trace_stop="Hide pitch",
    trace_alt="Line of your pitch over the last seconds, with the target as a band",
    trace_note="The microphone is heard on this device only: nothing is recorded, kept or sent. "
    "Stop the note or wear headphones while it listens.",
    trace_wait="Waiting for the microphone. Your browser may ask you to allow it.",
    trace_quiet="Listening",
    trace_on="on the target",
    trace_above="{semitones} semitones above the target",
    trace_below="{semitones} semitones below the target",
    trace_denied="The browser did not allow the microphone. Everything else works without it.",
    trace_missing="No microphone was found. Everything else works without it.",
    trace_insecure="This browser does not open the microphone for a file from a folder. "
    "Everything else works without it.",
    trace_failed="The microphone can’t be used here. Everything else works without it.",
    rest="Rest a moment",
    rest_texts=(
        "Jaw and neck: are they loose? If not, relax them before you go on.",
        "Drink some water.",
        "Nothing should hurt. Stop at any pain, burning or scratching.",
    ),
    rest_time="{seconds} s",
    rest_over="Go on when you are ready.",
    rest_on="Go on",
    rest_stop="Stop for today",
    check="Did you hear and feel a difference?",
    check_note="Compare before and after. Tick what is true for you today.",
    check_texts=(
        "I hear the difference between before and after.",
        "I feel the difference: the tongue is high and forward without effort.",
        "Pitch and inflection hold.",
    ),
    check_yes="All three? You are ready to move on.",
    check_no="Not yet? Stay with this text, more slowly. It is not a test.",
    total="Repetitions today: {count}.",
    reading_help="How to read it",
    about="About this page",
    about_texts=_ABOUT,
    no_script="The buttons need JavaScript. The text works without it.",
)

DISCREET: Final = PageWording(
    steps="Steps",
    finish="Finish",
    view="Show",
    view_phrase="One phrase",
    view_whole="Whole text",
    bridge="On the way there, read this version in the same manner.",
    version="Version",
    place="Phrase {at} of {of}",
    whole_place="Whole text",
    before="Previous phrase",
    after="Next phrase",
    next_step="Go on: {name}",
    empty="There is nothing to read on this page.",
    count="Count one",
    counted="{done} of {of} repetitions",
    controls="Controls",
    cues=(
        "Do a little more than you need.",
        "Now a little less.",
        "Ease back until it is easy.",
    ),
    again="Done. Take the next one, or stay as long as it feels easy.",
    tone="Steady note",
    tone_start="Play {note}",
    tone_stop="Stop {note}",
    lower="Down a semitone",
    higher="Up a semitone",
    home="Back to {note}",
    tone_note="It starts softly. Turn the device up only as far as you need.",
    tone_none="This browser can’t play the note.",
    pacer="Pacer",
    pacer_start="Start pacer",
    pacer_stop="Pause pacer",
    speed="Speed",
    speed_value="{rate} syllables a second",
    pacer_note=ORDINARY.pacer_note,
    trace="Live note",
    trace_start="Show note",
    trace_stop="Hide note",
    trace_alt="Line of the note over the last seconds, with the steady note as a band",
    trace_note=ORDINARY.trace_note,
    trace_wait=ORDINARY.trace_wait,
    trace_quiet="Listening",
    trace_on="on the note",
    trace_above="{semitones} semitones above the note",
    trace_below="{semitones} semitones below the note",
    trace_denied=ORDINARY.trace_denied,
    trace_missing=ORDINARY.trace_missing,
    trace_insecure=ORDINARY.trace_insecure,
    trace_failed=ORDINARY.trace_failed,
    rest="Rest a moment",
    rest_texts=(
        "Jaw and neck: are they loose? If not, relax them before you go on.",
        "Drink some water.",
        "Nothing should hurt. Stop if it does.",
    ),
    rest_time="{seconds} s",
    rest_over="Go on when you are ready.",
    rest_on="Go on",
    rest_stop="Stop for today",
    check="Did you notice a difference?",
    check_note="Compare before and after. Tick what is true for you today.",
    check_texts=(
        "I hear the difference between before and after.",
        "I feel the difference, and it is easy.",
        "The note and the rise and fall hold.",
    ),
    check_yes="All three? You are ready to move on.",
    check_no="Not yet? Stay with this text, more slowly. It is not a test.",
    total="Repetitions today: {count}.",
    reading_help="How to read it",
    about="About this page",
    about_texts=_ABOUT,
    no_script="The buttons need JavaScript. The text works without it.",
)


def choose_page_wording(discreet: bool) -> PageWording:
    """The sentences for a practice page.

    >>> choose_page_wording(True).trace
    'Live note'
    """
    return DISCREET if discreet else ORDINARY
