"""The practice page: one HTML file that works alone, on a phone, without a network.

The layout is templates/page/page.html.j2, with autoescape: all text of a user
is text. Style, script and fonts are put into the page; its policy
(Content-Security-Policy) lets nothing else in and nothing out. docs/practice-page-inside.md
tells how it is made.
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Iterable
from html import unescape
from typing import Any, Final, NamedTuple

from markupsafe import Markup
from rcssmin import cssmin
from rjsmin import jsmin

from drillgen.core.practice_page import Model, PracticePage
from drillgen.core.printable import clean
from drillgen.core.values import Tune
from drillgen.core.wording import choose_wording
from drillgen.write.page_fonts import FAMILY, FontFace, choose_fonts
from drillgen.write.templates import hash_source, load_templates, read_part

_ARROWS: Final = {
    Tune.RISE: "M4 15 15 5M8 5h7v7",
    Tune.FALL: "m4 5 11 10M8 15h7V8",
    Tune.LEVEL: "M3 10h13M11 5l5 5-5 5",
}
_TUNES: Final = {"↗": Tune.RISE, "↘": Tune.FALL, "→": Tune.LEVEL}

_MODULES: Final = (
    *("notes", "own", "plan", "log", "audio", "tone", "stretch", "model", "lights"),
    *("trace", "trim", "takes", "tally", "front", "device", "session", "main"),
)
_WORKLET: Final = ("detector", "tracker", "formant", "meter", "worklet", "recorder")


def render_page(page: PracticePage) -> str:
    """The page as one self-contained HTML file. The same page gives the same text."""
    faces = choose_fonts(_characters(page))
    style = "".join((*map(_font_rule, faces), cssmin(read_part("page/page.css"))))
    script = _read_script()
    practice = page.wording.practice
    return (
        load_templates("page", keep_trailing_newline=True)
        .get_template("page.html.j2")
        .render(
            page=page,
            common=page.wording,
            words=practice,
            texts=practice.texts,
            end=practice.end,
            about=practice.about,
            settings=_make_settings(page),
            sound=_make_sound(page),
            speakers={m.computer for step in page.steps for row in step.models for m in row},
            arrows=_ARROWS,
            tunes=_TUNES,
            zip=zip,
            style=Markup(style),
            script=Markup(script),
            policy=make_policy(style, script),
        )
    )


class PageRead(NamedTuple):
    """What a practice page tells of the drill that it was made of."""

    text: str
    """The original words."""

    accent: str
    target: str
    discreet: bool


def read_page(html: str) -> PageRead | None:
    """The drill of a practice page; None where it is none of ours.

    All its texts follow each other. The last version is the original words.
    """
    root = re.search(r'<html [^>]*data-accent="([\w-]+)" data-to="(\w+)"', html)
    version = html.rpartition('<article class="v"')[2].partition("</article>")[0]
    pattern = r'<p class="s( opens)?">|<span class="vh">(.*?)</span>'
    text = "".join(
        "\n\n" * bool(found[1]) + " " + unescape(found[2] or "").strip()
        for found in re.finditer(pattern, version)
    )
    text = re.sub(r"(?m)^ +| +$|(?<= ) +", "", text).strip()
    if root is None or not text:
        return None
    # The neutral wording names itself nowhere; it is known by a sentence that each page has.
    return PageRead(text, root[1], root[2], choose_wording(True).disclaimer in unescape(html))


def make_policy(style: str, script: str) -> str:
    """The Content-Security-Policy of a page with this style and script.

    Nothing comes from outside and nothing goes out. Scripts from `data:` are there
    for the pitch meter alone: an AudioWorklet is loaded from an address, and no hash
    can name it. A `blob:` address would do, but not in a page that is opened
    from a folder. Media from `data:` is a silent sound: with one that plays, a phone
    passes on the key of its headset.
    """
    return "; ".join(
        (
            "default-src 'none'",
            f"script-src {hash_source(script)} data:",
            f"style-src {hash_source(style)}",
            "font-src data:",
            "media-src data:",
            "base-uri 'none'",
            "form-action 'none'",
            "require-trusted-types-for 'script'",
        )
    )


def _font_rule(face: FontFace) -> str:
    data = base64.b64encode(face.data).decode()
    return (
        f'@font-face{{font-family:"{FAMILY}";font-weight:{face.weight};'
        f'src:url("data:font/woff2;base64,{data}") format("woff2")}}'
    )


# Script and style


def _read_script() -> str:
    """All modules in one closed scope: nothing of it is global."""
    # JSON in a script: "</script" in it would end the element.
    worklet = json.dumps(join_modules(_WORKLET)).replace("</", "<\\/")
    body = join_modules(_MODULES)
    return f'(()=>{{"use strict";const WORKLET_SOURCE={worklet};{body}}})();'


def join_modules(names: Iterable[str]) -> str:
    """JavaScript modules as one, in the given order, without comments and white space.

    They import only from each other, on lines that go.
    """
    lines = (
        line.removeprefix("export ")
        for name in names
        for line in read_part(f"page/js/{name}.js").splitlines()
        if not line.startswith("import ")
    )
    return str(jsmin("\n".join(lines)))


def _make_settings(page: PracticePage) -> Any:
    """What the script must know, as JSON that is safe inside HTML. No text of a
    user is in it."""
    return _dump(
        {
            "hz": page.hertz,
            "repetitions": page.repetitions,
            "steps": [
                {
                    "name": step.name,
                    "text": step.instruction,
                    "cues": step.cues,
                    "versions": step.versions,
                }
                for step in page.steps
            ],
            "words": page.wording.practice.script,
        }
    )


def _make_sound(page: PracticePage) -> Any:
    """The models of each step as JSON, or nothing."""
    if not any(step.models for step in page.steps):
        return ""
    return _dump([[list(map(_show_model, row)) for row in step.models] for step in page.steps])


def _show_model(model: Model) -> dict[str, object]:
    return {
        "data": base64.b64encode(model.data).decode(),
        "seconds": model.seconds,
        "syllables": model.syllables,
    }


def _dump(value: object) -> Any:
    from jinja2.utils import htmlsafe_json_dumps

    return htmlsafe_json_dumps(value, sort_keys=True)


def _characters(page: PracticePage) -> frozenset[str]:
    """What users wrote: everything else is in every font."""
    found = set(page.title)
    for version in page.versions:
        for text in version.texts:
            found.update(clean(text.title))
            for sentence in text.sentences:
                for phrase in sentence.phrases:
                    found.update(phrase.plain, *(word.original for word in phrase.words))
    for entry in page.key:
        found.update(entry.spelling, entry.ipa, entry.example, entry.note)
    return frozenset(found)
