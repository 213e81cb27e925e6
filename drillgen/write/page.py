"""The practice page: one HTML file that works alone, on a phone, without a network.

The layout is templates/page/page.html.j2, with autoescape: all text of a user
is text. Style, script and fonts are put into the page; its policy
(Content-Security-Policy) lets nothing else in and nothing out. docs/practice-page.md
tells how it is made.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterable, Iterator
from itertools import chain, groupby
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from drillgen.core.errors import OptionError
from drillgen.core.printable import clean
from drillgen.core.resources import resource_folder
from drillgen.core.values import (
    Boundary,
    Delivery,
    Drill,
    KeyEntry,
    Line,
    Phrase,
    Pitch,
    Pronunciation,
    Run,
    Tune,
    Version,
    VersionKind,
    Worksheet,
)
from drillgen.core.wording import Wording, choose_wording
from drillgen.sheets.content import (
    Word,
    deliveries_for,
    delivery_texts,
    format_pitch,
    group_words,
    marks_used,
    style_of,
    version_label,
)
from drillgen.sheets.parts import key_rows, number_drills, title_of
from drillgen.write.page_fonts import FAMILY, FontFace, FontShelf
from drillgen.write.page_text import PageWording, choose_page_wording

if TYPE_CHECKING:
    from jinja2 import Environment

SLOW: Final = 1.5
"""Syllables per second that the pacer starts with. Ordinary talk has four to
five; a third of that is slow (from memory)."""

SLOWEST: Final = 0.5
FASTEST: Final = 4.0

REST_EVERY: Final = 6
"""Phrases after which a rest is offered (common practice: short turns)."""

RESTS: Final = {Boundary.NONE: 1, Boundary.MINOR: 1, Boundary.MAJOR: 2}
"""Beats that the pacer waits at the end of a phrase."""

_ARROWS: Final = {
    "rise": "M4 15 15 5M8 5h7v7",
    "fall": "m4 5 11 10M8 15h7V8",
    "level": "M3 10h13M11 5l5 5-5 5",
}
_TUNES: Final = {Tune.RISE: "rise", Tune.FALL: "fall", Tune.LEVEL: "level"}
_SIGNS: Final = {"↗": "rise", "↘": "fall", "→": "level"}

_MODULES: Final = ("notes", "audio", "tone", "pacer", "trace", "main")
_WORKLET: Final = ("detector", "worklet")

_PIECES: Final = re.compile(r"[^\s-]*[\s-]+|[^\s-]+")
_DIGRAPHS: Final = frozenset(("th", "sh", "ch", "ph", "wh", "gh"))

Json = dict[str, Any]


class Chunk(NamedTuple):
    """A stretch of a printed word that the pacer lights at once."""

    runs: tuple[StyledRun, ...]
    syllables: int
    """Beats that it lasts; 0 where nothing is said."""


class StyledRun(NamedTuple):
    """Letters and how they are set."""

    text: str
    bold: bool
    marked: bool
    """Underlined as well."""


def render_page(sheet: Worksheet, *, rate: float = SLOW, fonts: FontShelf | None = None) -> str:
    """The sheet as one self-contained HTML file.

    `rate` is the pacer's speed in syllables per second, 0.5 to 4. A shelf of
    fonts saves time where many pages are made. The same sheet gives the same
    text. Raises OptionError for another rate.
    """
    if not SLOWEST <= rate <= FASTEST:
        raise OptionError(
            f"rate {rate:g} is not from {SLOWEST:g} to {FASTEST:g} syllables a second"
        )
    content = _build(sheet, rate)
    faces = (fonts or FontShelf()).faces(_characters(content))
    return _fill_template(content, faces)


def _fill_template(content: Json, faces: Iterable[FontFace]) -> str:
    style = "\n".join((*map(_font_rule, faces), _read_part("page.css")))
    script = _read_script()
    return (
        _load_templates()
        .get_template("page.html.j2")
        .render(
            content,
            arrows=_ARROWS,
            style=_trusted(style),
            script=_trusted(script),
            policy=make_policy(style, script),
        )
    )


def make_policy(style: str, script: str) -> str:
    """The Content-Security-Policy of a page with this style and script.

    Nothing comes from outside and nothing goes out. `data:` is there for the
    pitch meter alone: an AudioWorklet is loaded from an address, and no hash
    can name it. A `blob:` address would do, but not in a page that is opened
    from a folder.
    """
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {_hash(script)} data:",
            f"style-src {_hash(style)}",
            "font-src data:",
            "base-uri 'none'",
            "form-action 'none'",
            "require-trusted-types-for 'script'",
        )
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def _font_rule(face: FontFace) -> str:
    data = base64.b64encode(face.data).decode()
    return (
        f'@font-face{{font-family:"{FAMILY}";font-weight:{face.weight};'
        f'src:url("data:font/{face.format};base64,{data}") format("{face.format}")}}'
    )


def _load_templates() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(resource_folder("templates") / "page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def _trusted(text: str) -> Any:
    """Style or script of ours, which must not be escaped."""
    from markupsafe import Markup

    return Markup(text)


# Script and style


def _read_part(name: str) -> str:
    text = (resource_folder("templates") / "page" / name).read_text(encoding="utf-8")
    return text.replace("\r\n", "\n").strip()


def _read_script() -> str:
    """All modules in one closed scope: nothing of it is global."""
    # JSON in a script: "</script" in it would end the element.
    worklet = json.dumps(join_modules(_WORKLET)).replace("</", "<\\/")
    body = join_modules(_MODULES)
    return f'(() => {{\n"use strict";\nconst WORKLET_SOURCE = {worklet};\n{body}\n}})();'


def join_modules(names: Iterable[str]) -> str:
    """JavaScript modules as one, in the given order.

    They import only from each other, so those lines go; so do lines that are
    comments, since a discreet page should not explain itself.
    """
    lines = (
        line.removeprefix("export ")
        for name in names
        for line in _read_part(f"js/{name}.js").splitlines()
        if line and not line.lstrip().startswith("//") and not line.startswith("import ")
    )
    return "\n".join(lines)


# Content


def _build(sheet: Worksheet, rate: float) -> Json:
    """All that the template prints."""
    common = choose_wording(sheet.discreet)
    words = choose_page_wording(sheet.discreet)
    versions = list(_build_versions(sheet, common))
    steps = list(_build_steps(sheet, common, versions))
    signs = marks_used(sheet.drills, flow=False)
    return {
        "title": title_of(sheet, common),
        "words": words,
        "common": common,
        "pitch": _build_pitch(sheet.pitch, common) if sheet.pitch else None,
        "steps": steps,
        "versions": versions,
        "repetitions": sheet.repetitions,
        "rate": f"{rate:.1f}",
        "rest_every": REST_EVERY,
        "key": list(_build_key(sheet, common)),
        "marks": [
            {"mark": t.mark, "face": t.face, "meaning": t.meaning, "tune": _SIGNS.get(t.mark, "")}
            for t in common.mark_texts
            if signs and (t.face or t.mark in signs)
        ],
        "settings": _build_settings(sheet, words, steps),
    }


def _build_key(sheet: Worksheet, common: Wording) -> Iterator[KeyEntry]:
    for entry in key_rows((entry for drill in sheet.drills for entry in drill.key), common):
        # The font lacks U+025D; with the rhotic hook it is the same symbol (IPA chart).
        yield entry._replace(ipa=entry.ipa.replace("ɝ", "ɜ˞"))


def _build_pitch(pitch: Pitch, common: Wording) -> Json:
    note, hertz = format_pitch(pitch)
    return {"label": common.pitch, "note": note, "hz": hertz}


_SCRIPT_WORDS: Final = (
    ("again", "again"),
    ("counted", "counted"),
    ("cues", "cues"),
    ("finish", "finish"),
    ("nextStep", "next_step"),
    ("pacerStart", "pacer_start"),
    ("pacerStop", "pacer_stop"),
    ("place", "place"),
    ("restOver", "rest_over"),
    ("restTime", "rest_time"),
    ("speedValue", "speed_value"),
    ("toneStart", "tone_start"),
    ("toneStop", "tone_stop"),
    ("total", "total"),
    ("traceAbove", "trace_above"),
    ("traceBelow", "trace_below"),
    ("traceOn", "trace_on"),
    ("traceQuiet", "trace_quiet"),
    ("traceStart", "trace_start"),
    ("traceStop", "trace_stop"),
    ("traceWait", "trace_wait"),
    ("trace_denied", "trace_denied"),
    ("trace_failed", "trace_failed"),
    ("trace_insecure", "trace_insecure"),
    ("trace_missing", "trace_missing"),
    ("wholePlace", "whole_place"),
)
"""Name in the script, name in PageWording."""


def _build_settings(sheet: Worksheet, words: PageWording, steps: list[Json]) -> Any:
    """What the script must know, as JSON that is safe inside HTML. No text of a
    user is in it."""
    from jinja2.utils import htmlsafe_json_dumps

    return htmlsafe_json_dumps(
        {
            "hz": sheet.pitch.hz if sheet.pitch else None,
            "repetitions": sheet.repetitions,
            "restEvery": REST_EVERY,
            "steps": [{"name": step["name"], "versions": step["versions"]} for step in steps],
            "words": {there: getattr(words, here) for there, here in _SCRIPT_WORDS},
        },
        sort_keys=True,
    )


_STEP_KINDS: Final = {
    Delivery.CHANT: (VersionKind.FULL,),
    Delivery.INFLECTED: (VersionKind.FULL,),
    Delivery.CARRY_OVER: (VersionKind.PARTIAL, VersionKind.MARKED),
}
"""What each step reads. On the way to the original words come the rungs."""


def _build_steps(sheet: Worksheet, common: Wording, versions: list[Json]) -> Iterator[Json]:
    texts = delivery_texts(sheet, common)
    for text, (name, instruction) in zip(common.deliveries, texts, strict=True):
        kinds = _STEP_KINDS[text.delivery]
        yield {
            "name": name,
            "instruction": instruction,
            "versions": [version["id"] for version in versions if version["kind"] in kinds],
        }


def _build_versions(sheet: Worksheet, common: Wording) -> Iterator[Json]:
    """The versions in the order of practice, each with all drills that have it."""
    drills = list(number_drills(sheet.drills, sheet))
    slots: dict[tuple[VersionKind, int], list[tuple[str, Drill, Version]]] = {}
    for _, title, drill in drills:
        for version in drill.versions:
            slots.setdefault((version.kind, version.rung), []).append((title, drill, version))
    order = (VersionKind.FULL, VersionKind.PARTIAL, VersionKind.MARKED)
    for number, slot in enumerate(sorted(slots, key=lambda s: (order.index(s[0]), -s[1]))):
        _, drill, version = slots[slot][0]
        label, note = version_label(version, drill, common)
        parts = [
            {"title": title, "sentences": list(_build_sentences(drill, version))}
            for title, drill, version in slots[slot]
        ]
        if any(part["sentences"] for part in parts):
            yield {
                "id": f"v{number}",
                "kind": version.kind,
                "paired": version.kind is not VersionKind.MARKED,
                "label": label,
                "note": note,
                "ticks": [
                    {"name": text.name, "count": sheet.repetitions}
                    for text in deliveries_for(version, common)
                ],
                "drills": parts,
            }


def _build_sentences(drill: Drill, version: Version) -> Iterator[Json]:
    paragraph = -1
    for _, group in groupby(_said_phrases(drill, version), key=lambda row: row[0].sentence):
        rows = list(group)
        opens = rows[0][0].paragraph != paragraph
        paragraph = rows[-1][0].paragraph
        yield {"opens": opens, "phrases": [built for _, built in rows]}


def _said_phrases(drill: Drill, version: Version) -> list[tuple[Phrase, Json]]:
    """The phrases that can be read aloud. Marks alone are no phrase to practise:
    they join the one before, or the first."""
    found: list[tuple[Phrase, Json]] = []
    loose: Json | None = None
    for phrase, line, readings in zip(drill.phrases, version.lines, drill.readings, strict=True):
        built = _build_phrase(phrase, line, readings, version.kind)
        if not built["words"]:
            continue
        if built["said"]:
            found.append((phrase, _join_phrases(loose, built) if loose else built))
            loose = None
        elif found:
            first, before = found[-1]
            found[-1] = first, _join_phrases(before, built)
        else:
            loose = _join_phrases(loose, built) if loose else built
    return found


def _join_phrases(before: Json, after: Json) -> Json:
    """Two phrases as one, which ends like the second."""
    return {
        **after,
        "plain": f"{before['plain']} {after['plain']}",
        "words": before["words"] + after["words"],
    }


def _build_phrase(
    phrase: Phrase,
    line: Line,
    readings: tuple[tuple[Pronunciation, ...], ...],
    kind: VersionKind,
) -> Json:
    words = group_words(phrase, line)
    counts = _count_syllables(phrase, readings)
    bar, _, _ = words[-1].mark.partition(" ") if words else ("", "", "")
    return {
        "said": any(counts),
        "plain": " ".join(word.text for word in words),
        "words": [
            {"original": word.original or word.text, "chunks": cut_chunks(word, count, kind)}
            for word, count in zip(words, counts, strict=True)
        ],
        "rest": RESTS[phrase.boundary],
        "bar": bar,
        "tune": "" if phrase.boundary is Boundary.NONE else _TUNES[phrase.tune],
    }


def _count_syllables(phrase: Phrase, readings: tuple[tuple[Pronunciation, ...], ...]) -> list[int]:
    """Syllables of each word as `group_words` cuts them: at white space."""
    counts: list[int] = []
    inside = False
    for token, reading in zip(phrase.tokens, readings, strict=True):
        if token.text.isspace() or not token.text:
            inside = False
            continue
        if not inside:
            counts.append(0)
            inside = True
        counts[-1] += sum(phone.is_vowel for word in reading for phone in word.phones)
    return counts


def cut_chunks(word: Word, syllables: int, kind: VersionKind) -> tuple[Chunk, ...]:
    """A printed word in the pieces that the pacer lights, one per syllable where
    the print shows where syllables end.

    A respelling is cut at its hyphens and spaces, an original word with marked
    vowels between them, any other word not at all. The beats add up to
    `syllables`.
    """
    pieces = _join_voiceless(list(_cut_at_hyphens(word.runs)))
    if kind is VersionKind.MARKED:
        pieces = [part for piece in pieces for part in _cut_between_vowels(piece)]
    if syllables:
        # More vowels are printed than said: the last ones share a beat.
        rest = list(chain.from_iterable(pieces[syllables - 1 :]))
        pieces = [piece for piece in (*pieces[: syllables - 1], rest) if piece]
    vowels = [sum(run.vowel for run in piece) for piece in pieces]
    if not any(vowels):
        pieces, vowels = [list(word.runs)], [syllables]
    beats = _share_beats(vowels, syllables)
    return tuple(
        Chunk(tuple(_style_runs(piece, kind)), count)
        for piece, count in zip(pieces, beats, strict=True)
    )


def _share_beats(vowels: list[int], syllables: int) -> list[int]:
    """Beats per piece: its vowels, corrected from the end so that the sum is right."""
    if not syllables:
        return [0] * len(vowels)
    beats = [max(1, count) for count in vowels]
    spare = syllables - sum(beats)
    for i in reversed(range(len(beats))):
        change = max(spare, 1 - beats[i])
        beats[i] += change
        spare -= change
    return beats


def _cut_at_hyphens(runs: Iterable[Run]) -> Iterator[list[Run]]:
    piece: list[Run] = []
    for run in runs:
        for part in _PIECES.findall(run.text) or [run.text]:
            piece.append(run._replace(text=part))
            if part[-1:] == "-" or part[-1:].isspace():
                yield piece
                piece = []
    if piece:
        yield piece


def _join_voiceless(pieces: list[list[Run]]) -> list[list[Run]]:
    """Pieces without a vowel join the one before, or the one after at the start."""
    joined: list[list[Run]] = []
    for piece in pieces:
        has_vowel = any(run.vowel for run in piece)
        if joined and not (has_vowel and any(run.vowel for run in joined[-1])):
            joined[-1] = joined[-1] + piece
        else:
            joined.append(piece)
    return joined


def _cut_between_vowels(runs: list[Run]) -> Iterator[list[Run]]:
    """Cut an original spelling between its vowels, before the last consonant."""
    piece: list[Run] = []
    for run in runs:
        if run.vowel and any(before.vowel for before in piece):
            kept, moved = _split_tail(piece)
            yield kept
            piece = moved
        piece.append(run)
    if piece:
        yield piece


def _split_tail(piece: list[Run]) -> tuple[list[Run], list[Run]]:
    last = piece[-1]
    if last.vowel:
        return piece, []
    text = last.text
    keep = max(0, len(text) - (2 if text[-2:].lower() in _DIGRAPHS else 1))
    kept = [*piece[:-1], last._replace(text=text[:keep])] if keep else piece[:-1]
    return kept, [last._replace(text=text[keep:])]


def _style_runs(runs: Iterable[Run], kind: VersionKind) -> Iterator[StyledRun]:
    """Runs by their style; neighbours of the same style are one."""
    for (bold, marked), group in groupby(runs, key=lambda run: style_of(run, kind)):
        yield StyledRun("".join(run.text for run in group), bold, marked)


def _characters(content: Json) -> frozenset[str]:
    """What users wrote: everything else is in every font."""
    found = set(content["title"])
    for version in content["versions"]:
        for drill in version["drills"]:
            found.update(clean(drill["title"]))
            for sentence in drill["sentences"]:
                for phrase in sentence["phrases"]:
                    found.update(phrase["plain"])
                    for word in phrase["words"]:
                        found.update(word["original"])
    for entry in content["key"]:
        found.update(entry.spelling, entry.ipa, entry.example, entry.note)
    return frozenset(found)
