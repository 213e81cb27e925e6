"""How much one request may ask for, and how long it may take."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits of the served page. Times are in seconds."""

    words: int = 20_000
    """Longest text, in words between spaces."""

    characters: int = 200_000
    """Longest text in code points, whatever its words."""

    letters: int = 60
    """Longest word: what is not in the dictionary is guessed letter by letter."""

    stretch: int = 1_000
    """Longest stretch without a space, such as a web address."""

    marks: int = 200
    """Most punctuation marks in a row: phrases are looked for around each."""

    title: int = 200
    """Longest title, in code points."""

    field: int = 400
    """Longest value of any other field, in code points."""

    body: int = 2_000_000
    """Largest request body in bytes: a text of `characters`, percent-encoded."""

    file: int = 16_000_000
    """Largest file to take a text from, in bytes."""

    recordings: int = 64_000_000
    """Largest request with recordings, in bytes: about 18 minutes."""

    takes: int = 128_000_000
    """Largest request with a take to check and an earlier one, in bytes."""

    take_minutes: int = 10
    """Longest take to check."""

    take_time: float = 240.0
    """A report on takes must be ready by then, in seconds."""

    fields: int = 60
    """Most fields in a form."""

    read_time: float = 10.0
    """A request's body must have come by then."""

    head_time: float = 10.0
    """So must its head, or the connection is closed."""

    work_time: float = 30.0
    """An answer must be ready by then."""

    file_time: float = 90.0
    """And a file to download by then."""

    printed_words: int = 40_000
    """Longest PDF or practice page: words of the text times its versions."""

    shown_words: int = 1_500
    """The preview ends with the sentence that passes so many words."""

    quick_words: int = 2_000
    """A longer text works in a lane of its own, so that short ones don't wait."""

    quick_unknown: int = 20
    """So does a text with more words that aren't in the dictionary."""

    quick_marks: int = 2_000
    """So does a text with more punctuation marks."""

    quick_at_once: int = 4
    slow_at_once: int = 2
    """Requests that work at the same time, by lane; others wait."""

    idle_time: float = 600.0
    """A process for slow work that has nothing to do for so long ends."""

    worker_memory: int = 150_000_000
    """One that has held so many bytes ends after its answer, and gives them back."""

    waiting: int = 12
    """Requests that may wait in a lane; more are turned away."""

    connections: int = 64
    """Open connections."""
