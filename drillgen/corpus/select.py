"""Choose prompts for a sheet: repeatable, spread over topics, never twice.

The order comes from SHA-256 (FIPS 180-4) of the seed and the prompt's key, so
it is the same on every machine and Python version, and a prompt that is added
to the corpora doesn't reshuffle the others.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Sequence
from typing import Final

from drillgen.core.errors import InputError, OptionError
from drillgen.corpus.reader import STEPS, Prompt

HISTORY_HEAD: Final = (
    "# Prompts used so far, one a line, an empty line between two sheets. Delete a line to use\n"
    "# its prompt again.\n"
)
ANSWERS_HEAD: Final = "# Type each answer below its question; what has no answer is left out.\n"

_KEY = re.compile(r"[a-z]+(-[a-z0-9]+)+")
_ASKED = re.compile(r"\[([^\]\n]*)\].*")


def _draw(seed: int, key: str) -> bytes:
    return hashlib.sha256(f"{seed}\0{key}".encode()).digest()


def choose_prompts(
    prompts: Iterable[Prompt],
    *,
    step: int | None,
    topic: str | None,
    count: int,
    seed: int,
    history: Collection[str] = (),
) -> tuple[Prompt, ...]:
    """Choose `count` prompts, as many topics as there are first.

    `step` and `topic` narrow the choice, None takes all. Prompts whose keys
    are in `history` are left out, and topics that the history has used less
    come first. The same arguments give the same prompts in the same order, in
    whatever order `prompts` come.

    Raises OptionError for an unknown step or topic, a count below 1, or too
    few prompts; the message says how many are left.
    """
    every = tuple(prompts)
    if count < 1:
        raise OptionError(f"count must be 1 or more, not {count}")
    if step is not None and step not in STEPS:
        raise OptionError(f"step must be 1, 2 or 3, not {step}")
    topics = sorted({prompt.topic for prompt in every})
    if topic is not None and topic not in topics:
        raise OptionError(f"topic {topic!r} is unknown", f"choose one of: {', '.join(topics)}")
    used = frozenset(history)
    fitting = [
        prompt for prompt in every if step in (None, prompt.step) and topic in (None, prompt.topic)
    ]
    fresh = [prompt for prompt in fitting if prompt.key not in used]
    if len(fresh) < count:
        seen = len(fitting) - len(fresh)
        why = f" ({seen} are in the history)" if seen else ""
        where = f"{f' at step {step}' if step else ''}{f' on {topic}' if topic else ''}"
        raise OptionError(
            f"only {len(fresh)} prompts are left{where}{why}, not {count}",
            "ask for fewer, or widen step or topic",
        )
    before = Counter(prompt.topic for prompt in every if prompt.key in used)
    piles: defaultdict[str, list[Prompt]] = defaultdict(list)
    for prompt in sorted(fresh, key=lambda p: _draw(seed, p.key)):
        piles[prompt.topic].append(prompt)
    # A prompt's turn is its place in its topic's pile: all first ones come
    # before all second ones, which spreads the topics.
    ranked = sorted(
        (turn, before[name], _draw(seed, name), prompt.key, prompt)
        for name, pile in piles.items()
        for turn, prompt in enumerate(pile)
    )
    return tuple(entry[-1] for entry in ranked[:count])


def parse_sheets(text: str, *, name: str = "history") -> tuple[tuple[str, ...], ...]:
    """The keys of the prompts that a client has had, sheet by sheet.

    One key a line, an empty line between two sheets; lines that start with # are left out.
    Keys that the corpora no longer have are kept. Raises InputError with `name`
    and line number for anything that can't be a key.

    >>> parse_sheets("errands-1-parcel\\nfood-1-tea\\n\\nfood-2-cook\\n")
    (('errands-1-parcel', 'food-1-tea'), ('food-2-cook',))
    """
    sheets: list[list[str]] = [[]]
    for number, line in enumerate(text.removeprefix("\ufeff").splitlines(), 1):
        key = line.strip()
        if not key:
            sheets.append([])
        elif key[0] != "#":
            if not _KEY.fullmatch(key):
                mend = "write one such as errands-1-parcel"
                raise InputError(f"{key[:40]!r} is no prompt key", mend, file=name, line=number)
            sheets[-1].append(key)
    return tuple(tuple(sheet) for sheet in sheets if sheet)


def append_history(text: str, chosen: Iterable[Prompt]) -> str:
    """The text of a history file with the chosen prompts' keys added.

    What stood there stays as it is; a key that is there already isn't added.
    """
    have = {key for sheet in parse_sheets(text) for key in sheet}
    new = dict.fromkeys(prompt.key for prompt in chosen if prompt.key not in have)
    if not new:
        return text or HISTORY_HEAD
    end = "" if not text or text.endswith("\n") else "\n"
    gap = "\n" if have else ""
    return f"{text or HISTORY_HEAD}{end}{gap}" + "".join(f"{key}\n" for key in new)


def split_answers(text: str) -> tuple[str, ...]:
    """The answers of a file: one a line, or, if any line is empty, one a paragraph.

    >>> split_answers("No, thanks.\\nYes.\\n")
    ('No, thanks.', 'Yes.')
    """
    body = text.removeprefix("\ufeff").strip()
    parts = re.split(r"\n[ \t\r]*\n\s*", body) if re.search(r"\n[ \t\r]*\n", body) else None
    answers = (" ".join(part.split()) for part in parts or body.splitlines())
    return tuple(answer for answer in answers if answer)


def format_answer_sheet(prompts: Iterable[Prompt]) -> str:
    """The questions as a text file to type answers into; `read_answer_sheet` reads it."""
    asked = "".join(f"\n[{prompt.key}] {prompt.question}\n\n" for prompt in prompts)
    return ANSWERS_HEAD + asked


def read_answer_sheet(
    text: str, prompts: Iterable[Prompt], *, name: str = "answers"
) -> tuple[tuple[Prompt, str], ...]:
    """The answers that stand below the keys of their prompts; none in a file without keys.

    Raises InputError with `name` and line for a key that no prompt has.

    >>> prompt = Prompt("food-1-tea", "food", 1, "Tea?", "Yes, please.", "Yes.")
    >>> read_answer_sheet("[food-1-tea] Tea?\\nNo,\\nthanks.\\n", [prompt])[0][1]
    'No, thanks.'
    """
    by_key = {prompt.key: prompt for prompt in prompts}
    found: dict[str, list[str]] = {}
    at: list[str] | None = None
    for number, line in enumerate(text.removeprefix("\ufeff").splitlines(), 1):
        if asked := _ASKED.match(line.strip()):
            if asked[1] not in by_key:
                mend = "leave the line as the answer sheet has it"
                raise InputError(f"no prompt is called {asked[1]!r}", mend, file=name, line=number)
            at = found.setdefault(asked[1], [])
        elif at is not None and not line.startswith("#"):
            at.append(line)
    joined = {key: " ".join(" ".join(lines).split()) for key, lines in found.items()}
    if found and not any(joined.values()):
        raise InputError("no question has an answer", "type one below its question", file=name)
    return tuple((by_key[key], answer) for key, answer in joined.items() if answer)


def _count(rows: Sequence[object], noun: str) -> str:
    return f"{len(rows)} {noun}{'s' if len(rows) != 1 else ''}"


def pair_answers(
    prompts: Sequence[Prompt], text: str, *, name: str = "answers"
) -> tuple[tuple[Prompt, str], ...]:
    """The client's own answers beside their prompts, in order.

    One answer a line, or, if any line is empty, one a paragraph. Raises
    InputError if there are more or fewer answers than prompts.

    >>> prompt = Prompt("food-1-tea", "food", 1, "Tea?", "Yes, please.", "Yes.")
    >>> pair_answers([prompt], "No, thanks.\\n")[0][1]
    'No, thanks.'
    """
    answers = split_answers(text)
    if len(answers) != len(prompts):
        raise InputError(
            f"{_count(answers, 'answer')} for {_count(prompts, 'prompt')}",
            "write one a line, or one a paragraph with empty lines between",
            file=name,
        )
    return tuple(zip(prompts, answers, strict=True))
