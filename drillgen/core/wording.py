"""Every sentence that a sheet prints, in an ordinary and a discreet wording.

The advice (go slowly, overshoot and ease back, watch jaw and neck, rest,
water, hoarseness beyond two weeks) is common practice in voice teaching; it
defers to a licensed clinician. The discreet wording says how to read and
never what the reading is for: a sheet that lies open must not out its owner.

A sentence that takes a value holds a `str.format` field; its docstring names
the field.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, NamedTuple

from drillgen.core.options import Unit
from drillgen.core.values import Delivery


class DeliveryText(NamedTuple):
    """One of the three deliveries, as the sheet explains it."""

    delivery: Delivery
    name: str
    instruction: str
    """How to do it on a pitch."""

    free_instruction: str
    """How to do it where no pitch is set."""


class MarkText(NamedTuple):
    """One mark of the page and its meaning."""

    mark: str
    """IPA suprasegmental, or empty where the face of the letters is the mark."""

    face: str
    """"bold", "underline", or empty."""

    meaning: str


class PromptWording(NamedTuple):
    """What a sheet of conversation prompts says besides."""

    title: str
    step: str
    """Under the title. Fields: step, topics."""

    mixed: str
    """The same where the prompts are of several steps. Field: topics."""

    prompt: str
    """Names a prompt. Field: number."""

    model: str
    """Label of the model answer."""

    given: str
    """Label of the client's own answer, where it was given."""

    own: str
    """Heading above the ruled lines."""

    step_name: str
    """Name of the step that follows the deliveries."""

    step_text: str
    again_text: str
    """The same where the client's own answer is drilled already."""

    free: str
    """Label of the tick boxes of free talk."""

    hint: str
    """How to work through one prompt."""

    lines: str
    """Says the ruled lines in words. Field: count."""


class LadderWording(NamedTuple):
    """What a booklet that climbs the hierarchy says besides."""

    title: str
    """Fields: first, last (names of units, lower case)."""

    single: str
    """Title where there is one unit. Field: unit."""

    about: str
    """Under the title. Fields: contrasts, target."""

    units: tuple[tuple[Unit, str, str], ...]
    """Each unit with its heading and its name in a sentence."""

    group: str
    """Heading of a list. Fields: unit, vowel, number."""

    columns: tuple[str, str, str, str]
    """Original, marked, partial, full."""

    tick: str
    boxes: str
    """Explains a numbered box. Fields: number, name, columns."""

    box: str
    """Says a numbered box in words. Field: name."""

    syllables: str
    advance: str
    """Field: next (name of a unit)."""

    finish: str
    """After the last unit."""

    ready: str
    """Label of the tick boxes at the end of a unit."""

    join: str
    """Joins the last two of several contrasts."""


class PlanWording(NamedTuple):
    """What a practice plan says."""

    title: str
    facts: str
    """Fields: weeks, days, minutes."""

    begins: str
    """Field: date."""

    reason: str
    """Label of the reason for where the plan begins."""

    use: str
    """How to use the plan."""

    unfinished: str
    session: str
    session_note: str
    session_columns: tuple[str, str, str]
    warm_up: str
    warm_up_cue: str
    rest: str
    rest_cue: str
    close: str
    close_cue: str
    cues: tuple[tuple[Delivery, str], ...]
    own_words: str
    """Cue of the last delivery in a session of conversation."""

    of_the_day: str
    """The version that the table of sessions names."""

    warm_ups: str
    """Heading of the list of warm-ups."""

    warm_up_texts: tuple[str, ...]
    move: str
    step_up: str
    step_back: str
    stop: str
    slow: str
    sessions: str
    week: str
    """Field: number."""

    columns: tuple[str, ...]
    """Session, date, unit, version, warm-up, five things, note."""

    full: str
    partial: str
    """Fields: rung, rungs."""

    marked: str
    fill: str
    """How to fill in the log."""

    tension: str
    """What is circled."""

    progress: str
    progress_note: str
    """Fields: sessions, minutes."""

    chart_alt: str
    """Fields: sessions, points (a list in words)."""

    chart_point: str
    """Fields: session, met."""

    chart_across: str
    chart_up: str
    chart_ring: str
    chart_stars: str
    """Explains the chart of plain text."""

    rates: tuple[str, str]
    """Columns of the table of criteria."""

    criteria: tuple[str, str, str, str, str]


@dataclass(frozen=True, slots=True)
class Wording:
    """The sentences of a sheet."""

    title: str
    """Heading of a sheet that was given none."""

    foot: str
    """Left half of the running foot."""

    page: str
    """Right half. Fields: page, pages."""

    pitch: str
    """Label of the reference note."""

    pitch_alt: str
    """Says the drawn keyboard in words. Field: note."""

    steps: str
    """Heading above the deliveries."""

    deliveries: tuple[DeliveryText, ...]
    hints: tuple[str, ...]
    text: str
    """Heading of the plain text."""

    full: str
    full_note: str
    """Field: vowel."""

    flow_note: str
    """What the marks of weak words and links are for. Field: marks."""

    partial: str
    partial_rung: str
    """Heading of a partial version on a ladder. Fields: rung, rungs."""

    partial_note: str
    """Fields: share (a percentage), strategy."""

    strategies: tuple[tuple[str, str], ...]
    """How each partial strategy chooses, by its name."""

    marked: str
    marked_note: str
    """Field: vowel."""

    ticks: str
    """Says a row of tick boxes in words. Fields: name, count."""

    key: str
    key_note: str
    key_columns: tuple[str, str, str, str]
    marks: str
    marks_columns: tuple[str, str]
    mark_texts: tuple[MarkText, ...]

    review: str
    review_note: str
    review_columns: tuple[str, str, str, str]
    sentence: str
    """Where a word stands. Field: number."""

    cautions: str
    caution_texts: tuple[str, ...]
    disclaimer: str
    log: str
    log_columns: tuple[str, str, str, str, str, str]
    missing: str
    """Warning on characters that the fonts lack. Field: characters."""

    prompts: PromptWording
    ladder: LadderWording
    plan: PlanWording

    telling: tuple[str, ...] = ()
    """Beginnings of words that no hint from elsewhere may hold, lower case."""


_HINT_SLOW: Final = (
    "Go slowly, one breath group at a time. The bars show where a group ends and you may breathe."
)
_MARKS: Final = (
    MarkText("|", "", "short pause"),
    MarkText("‖", "", "end of a sentence: breathe"),
    MarkText("¦", "", "no pause, but you may breathe here"),
    MarkText("↗", "", "rise"),
    MarkText("↘", "", "fall"),
    MarkText("→", "", "stay level"),
    MarkText("‿", "", "lead over to the next word"),
    MarkText("˘", "", "light word: say it short"),
    MarkText("", "bold", "stressed syllable"),
)
_KEY_COLUMNS: Final = ("Spelling", "IPA", "As in", "Hint")
_REVIEW_COLUMNS: Final = ("Word", "We chose", "Why", "Where")

_UNITS: Final = (
    (Unit.SYLLABLE, "Syllables", "syllables"),
    (Unit.WORD, "Words", "words"),
    (Unit.PHRASE, "Phrases", "phrases"),
    (Unit.SENTENCE, "Sentences", "sentences"),
    (Unit.PASSAGE, "Passage", "passage"),
    (Unit.CONVERSATION, "Conversation", "conversation"),
)
_WARM_UPS: Final = (
    "Sit or stand tall. Let the shoulders and the jaw drop. Breathe out slowly five times.",
    "Hum softly on one easy note. Feel the buzz at the lips. Slide up and down a little.",
    "Flutter the lips or roll the tongue on a breath, first without voice, then with it.",
    "Chew slowly, yawn with closed lips, and turn the head gently from side to side.",
    "Sigh from high to low three times. Stretch the tongue out and let it lie loose again.",
)

ORDINARY: Final = Wording(
    title="Resonance drill",
    foot="Reading practice",
    page="Page {page} of {pages}",
    pitch="Target pitch",
    pitch_alt="Piano keys with {note} marked",
    steps="What to do",
    deliveries=(
        DeliveryText(
            Delivery.CHANT,
            "Chant",
            "Read the full swap on one steady pitch, {pitch}. Keep the tongue high and forward.",
            "Read the full swap on one steady pitch. Keep the tongue high and forward.",
        ),
        DeliveryText(
            Delivery.INFLECTED,
            "Inflected",
            "Read it again with natural rise and fall around that pitch. Keep the tongue forward.",
            "Read it again with natural rise and fall. Keep the tongue forward.",
        ),
        DeliveryText(
            Delivery.CARRY_OVER,
            "Carry-over",
            "Read the original words. Say every vowel as usual, but keep the forward posture.",
            "Read the original words. Say every vowel as usual, but keep the forward posture.",
        ),
    ),
    hints=(
        _HINT_SLOW,
        "Overshoot first: make it brighter than you would ever use. Then ease back, step by step, "
        "until it is bright and still yours.",
        "Move on when you hear and feel the difference between before and after, and when pitch "
        "and inflection hold.",
    ),
    text="Text",
    full="Full swap",
    full_note="Every vowel is {vowel}.",
    flow_note="Follow {marks} in the inflected delivery; the chant ignores such marks.",
    partial="Partial swap",
    partial_rung="Partial swap, rung {rung} of {rungs}",
    partial_note="{share} of the vowels are swapped; {strategy}.",
    strategies=(
        ("distance", "the nearest to the target first"),
        ("stressed", "stressed syllables first"),
        ("unstressed", "unstressed syllables first"),
        ("content", "nouns, verbs, adjectives and adverbs first"),
        ("alternate", "every other word first"),
    ),
    marked="Original words",
    marked_note="Say the marked vowels as usual; keep the posture of {vowel}.",
    ticks="{count} boxes to tick for {name}",
    key="Key",
    key_note="Read each syllable as it stands. A hyphen parts syllables; don’t pause at it.",
    key_columns=_KEY_COLUMNS,
    marks="Marks",
    marks_columns=("Mark", "Meaning"),
    mark_texts=(
        *_MARKS,
        MarkText("", "underline", "swapped vowel, or vowel to watch"),
    ),
    review="Words to check",
    review_note="We were not sure of these words. The teacher decides how they are said.",
    review_columns=_REVIEW_COLUMNS,
    sentence="sentence {number}",
    cautions="Take care",
    caution_texts=(
        "Watch the jaw and the neck. If they tighten, stop, relax, and begin again more gently.",
        "Nothing should hurt. Stop at any pain, burning or scratching.",
        "Take short turns with rests between them, and drink water.",
        "If your voice is hoarse for more than two weeks, see a doctor.",
    ),
    disclaimer="This sheet does not replace the advice of a licensed clinician. Where the two "
    "differ, follow your clinician.",
    log="Practice log",
    log_columns=("Date", "Delivery", "Times", "Difference felt", "Tension", "Note"),
    missing="Some characters of the text can’t be printed and are drawn as an empty frame: "
    "{characters}.",
    prompts=PromptWording(
        title="Conversation practice",
        step="Step {step} of 3. Topics: {topics}.",
        mixed="Topics: {topics}.",
        prompt="Prompt {number}",
        model="Model answer",
        given="Your answer",
        own="Your own answer",
        step_name="Own words",
        step_text="Write an answer of your own on the lines; underline its vowels. Say it, then "
        "turn the sheet over and speak freely. Keep the forward posture.",
        again_text="Turn the sheet over and answer freely, each time a little differently. Keep "
        "the forward posture.",
        free="Own words",
        hint="Take one prompt at a time: read the question, go through the answer version by "
        "version, then give your own answer.",
        lines="{count} ruled lines to write on",
    ),
    ladder=LadderWording(
        title="From {first} to {last}",
        single="Practice with {unit}",
        about="This booklet climbs from small units to larger ones, around {contrasts}. The "
        "target is {target}.",
        units=_UNITS,
        group="{unit} with {vowel}",
        columns=("Original", "Marked", "Partial swap", "Full swap"),
        tick="Tick a box for each reading.",
        boxes="Box {number}: {name} ({columns}).",
        box="box to tick for {name}",
        syllables="The word in brackets begins with the syllable.",
        advance="Go on to {next} when you feel and hear the difference, pitch and inflection "
        "hold, and there is no tension. Two good days in a row are a good sign.",
        finish="You are at the top when you hear and feel the difference, and pitch and "
        "inflection hold. Talk about your day in the same way.",
        ready="A good day",
        join=" and ",
    ),
    plan=PlanWording(
        title="Practice plan",
        facts="{weeks}, {days} a week, {minutes} minutes each.",
        begins="First day: {date}.",
        reason="Where it begins",
        use="What you read comes from your sheets. The table of sessions says which unit and "
        "which version is on that day.",
        unfinished="This plan ends before conversation. Make the next one from your filled log.",
        session="Each session",
        session_note="Times are in minutes. Shorten what you like, but never the rests.",
        session_columns=("Time", "What", "How"),
        warm_up="Warm-up",
        warm_up_cue="One of the warm-ups below; the table of sessions says which.",
        rest="Rest",
        rest_cue="Be silent. Drink water. Let the jaw and neck go loose.",
        close="Compare",
        close_cue="Say one line as before and one as now. Fill in the log.",
        cues=(
            (Delivery.CHANT, "Say every line on the target pitch, slowly and evenly."),
            (
                Delivery.INFLECTED,
                "Say it with natural rise and fall. Overshoot, then ease back.",
            ),
            (
                Delivery.CARRY_OVER,
                "Say the original words and keep the same place in the mouth.",
            ),
        ),
        own_words="Answer in your own words and keep the same place in the mouth.",
        of_the_day="version of the day",
        warm_ups="Warm-ups",
        warm_up_texts=_WARM_UPS,
        move="When to go on, back, or stop",
        step_up="Go on when two sessions in a row meet all five: you feel the difference, you "
        "hear it, the pitch stays, the rise and fall stay natural, and there is no tension.",
        step_back="Go back one stage when there is tension in jaw, neck or tongue, or when fewer "
        "than three of the five are met. Going back is part of the way.",
        stop="Stop and rest at once if anything hurts or the voice gets rough. If there is "
        "strong tension two sessions in a row, ask your teacher or clinician before you go on.",
        slow="Slow is right: overshoot first, then ease back to where it feels easy.",
        sessions="Sessions and log",
        week="Week {number}",
        columns=(
            "No.",
            "Date",
            "Unit",
            "Version",
            "Warm-up",
            "Felt",
            "Heard",
            "Pitch",
            "Inflection",
            "Tension",
            "Note",
        ),
        full="Full swap",
        partial="Partial {rung} of {rungs}",
        marked="Original",
        fill="Tick what was so: you felt the difference, you heard it, the pitch stayed, the "
        "inflection stayed natural. Circle the tension: 0 none, 1 some, 2 strong. To stay "
        "or go back, read that unit and version again and let the plan wait.",
        tension="0  1  2",
        progress="So far",
        progress_note="{sessions}, {minutes} minutes in all.",
        chart_alt="Line chart of how many of the five things were met, session by session: "
        "{points}.",
        chart_point="session {session}, {met}",
        chart_across="Session",
        chart_up="Things met, of 5",
        chart_ring="An open ring marks a session with tension.",
        chart_stars="A row is a session, a star a thing met, and ! says that there was tension.",
        rates=("Thing", "Sessions"),
        criteria=(
            "Difference felt",
            "Difference heard",
            "Pitch kept",
            "Inflection natural",
            "No tension",
        ),
    ),
)

DISCREET: Final = Wording(
    title="Reading practice",
    foot="Reading practice",
    page="Page {page} of {pages}",
    pitch="Steady note",
    pitch_alt="Piano keys with {note} marked",
    steps="What to do",
    deliveries=(
        DeliveryText(
            Delivery.CHANT,
            "Steady",
            "Read version A slowly on one steady note, {pitch}.",
            "Read version A slowly on one steady note.",
        ),
        DeliveryText(
            Delivery.INFLECTED,
            "Lively",
            "Read it again with natural rise and fall around that note.",
            "Read it again with natural rise and fall.",
        ),
        DeliveryText(
            Delivery.CARRY_OVER,
            "As written",
            "Read the words as they are written, in the same manner.",
            "Read the words as they are written, in the same manner.",
        ),
    ),
    hints=(
        _HINT_SLOW,
        "Do a little more than you need at first. Then ease back, step by step, until it is easy.",
        "Move on when you notice the difference between before and after.",
    ),
    text="Text",
    full="Version A",
    full_note="Respelled: read what you see.",
    flow_note="Follow {marks} in the lively reading; the steady one ignores such marks.",
    partial="Version B",
    partial_rung="Version B{rung}",
    partial_note="Partly respelled: read what you see.",
    strategies=(),
    marked="Version C",
    marked_note="As written, with some letters marked.",
    ticks="{count} boxes to tick for {name}",
    key="Key",
    key_note="Read each syllable as it stands. A hyphen parts syllables; don’t pause at it.",
    key_columns=_KEY_COLUMNS,
    marks="Marks",
    marks_columns=("Mark", "Meaning"),
    mark_texts=(*_MARKS, MarkText("", "underline", "letters to watch")),
    review="Words to check",
    review_note="We were not sure of these words. Ask how they are said.",
    review_columns=_REVIEW_COLUMNS,
    sentence="sentence {number}",
    cautions="Take care",
    caution_texts=(
        "Keep the jaw and the neck loose. If they tighten, stop, relax, and begin again gently.",
        "Nothing should hurt. Stop if it does.",
        "Take short turns with rests between them, and drink water.",
        "If you are hoarse for more than two weeks, see a doctor.",
    ),
    disclaimer="The advice of a professional who knows you comes before this sheet.",
    log="Practice log",
    log_columns=("Date", "Step", "Times", "Difference", "Effort", "Note"),
    missing=ORDINARY.missing,
    prompts=PromptWording(
        title="Talking practice",
        step="Step {step} of 3. Topics: {topics}.",
        mixed="Topics: {topics}.",
        prompt="Question {number}",
        model="Example answer",
        given="Your answer",
        own="Your own answer",
        step_name="Own words",
        step_text="Write an answer of your own on the lines. Say it, then turn the sheet over and "
        "speak freely, in the same manner.",
        again_text="Turn the sheet over and answer freely, each time a little differently, in the "
        "same manner.",
        free="Own words",
        hint="Take one question at a time: read it, go through the answer version by version, "
        "then give your own answer.",
        lines=ORDINARY.prompts.lines,
    ),
    ladder=LadderWording(
        title="From {first} to {last}",
        single="Practice with {unit}",
        about="This booklet goes from small units to larger ones.",
        units=_UNITS,
        group="{unit}, list {number}",
        columns=("As written", "Version C", "Version B", "Version A"),
        tick="Tick a box for each reading.",
        boxes="Box {number}: {name} ({columns}).",
        box="box to tick for {name}",
        syllables=ORDINARY.ladder.syllables,
        advance="Go on to {next} when this is easy. Two good days in a row are a good sign.",
        finish="You are at the top when this is easy. Talk about your day in the same way.",
        ready="A good day",
        join=" and ",
    ),
    plan=PlanWording(
        title="Practice plan",
        facts=ORDINARY.plan.facts,
        begins=ORDINARY.plan.begins,
        reason=ORDINARY.plan.reason,
        use=ORDINARY.plan.use,
        unfinished=ORDINARY.plan.unfinished,
        session="Each session",
        session_note=ORDINARY.plan.session_note,
        session_columns=ORDINARY.plan.session_columns,
        warm_up="Warm-up",
        warm_up_cue=ORDINARY.plan.warm_up_cue,
        rest="Rest",
        rest_cue=ORDINARY.plan.rest_cue,
        close="Compare",
        close_cue="Read one line as before and one as now. Fill in the log.",
        cues=(
            (Delivery.CHANT, "Read every line on one steady note, slowly and evenly."),
            (
                Delivery.INFLECTED,
                "Read it with natural rise and fall. Do a little more, then ease back.",
            ),
            (Delivery.CARRY_OVER, "Read the words as they are written, in the same manner."),
        ),
        own_words="Answer in your own words, in the same manner.",
        of_the_day=ORDINARY.plan.of_the_day,
        warm_ups="Warm-ups",
        warm_up_texts=(
            _WARM_UPS[0],
            "Hum softly on one easy note. Slide up and down a little.",
            "Flutter the lips on a breath, first silently, then aloud.",
            _WARM_UPS[3],
            "Sigh from high to low three times. Let the face go loose.",
        ),
        move="When to go on, back, or stop",
        step_up="Go on when two sessions in a row meet all five: you feel the difference, you "
        "hear it, the note stays, the rise and fall stay natural, and nothing is tight.",
        step_back="Go back one stage when jaw or neck are tight, or when fewer than three of the "
        "five are met. Going back is part of the way.",
        stop="Stop and rest at once if anything hurts or feels rough. If you are very tight two "
        "sessions in a row, ask your teacher before you go on.",
        slow="Slow is right: do a little more first, then ease back to where it feels easy.",
        sessions="Sessions and log",
        week="Week {number}",
        columns=(
            "No.",
            "Date",
            "Unit",
            "Version",
            "Warm-up",
            "Felt",
            "Heard",
            "Steady",
            "Lively",
            "Tight",
            "Note",
        ),
        full="Version A",
        partial="Version B{rung}",
        marked="Version C",
        fill="Tick what was so: you felt the difference, you heard it, the note was steady, the "
        "rise and fall lively. Circle how tight you were: 0 not, 1 a little, 2 very. To stay "
        "or go back, read that unit and version again and let the plan wait.",
        tension="0  1  2",
        progress="So far",
        progress_note=ORDINARY.plan.progress_note,
        chart_alt=ORDINARY.plan.chart_alt,
        chart_point=ORDINARY.plan.chart_point,
        chart_across="Session",
        chart_up="Things met, of 5",
        chart_ring="An open ring marks a session that was tight.",
        chart_stars="A row is a session, a star a thing met, and ! says that it was tight.",
        rates=("Thing", "Sessions"),
        criteria=(
            "Difference felt",
            "Difference heard",
            "Note steady",
            "Rise and fall lively",
            "Not tight",
        ),
    ),
    telling=(
        "voice",
        "voicing",
        "vocal",
        "reson",
        "femin",
        "mascul",
        "gender",
        "trans",
        "bright",
        "forward",
        "tongue",
        "larynx",
        "vowel",
        "swap",
        "pitch",
        "target",
        "therap",
        "clinic",
        "speech",
    ),
)


def keep_hint(text: str, wording: Wording) -> str:
    """A hint of the key or of the review, or nothing where it would tell too much.

    >>> keep_hint("with voice", DISCREET)
    ''
    >>> keep_hint("always hard", DISCREET)
    'always hard'
    """
    words = re.findall(r"[a-z]+", text.lower())
    return "" if any(word.startswith(wording.telling) for word in words) else text


def is_neutral(text: str) -> bool:
    """Whether a text of ours can stand on a discreet sheet.

    >>> is_neutral("The tide turns."), is_neutral("I lost my voice.")
    (True, False)
    """
    return bool(keep_hint(text, DISCREET)) or not text


def choose_wording(discreet: bool) -> Wording:
    """The sentences for a sheet.

    >>> choose_wording(True).pitch
    'Steady note'
    """
    return DISCREET if discreet else ORDINARY
