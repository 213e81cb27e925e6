"""Write docs/api.md from the docstrings of the public names.

python tools/make_api_docs.py
"""

from __future__ import annotations

import inspect
import re
from enum import Enum
from pathlib import Path
from typing import Final

import drillgen

TARGET: Final = Path(__file__).resolve().parent.parent / "docs" / "api.md"

TOPICS: Final = (
    ("Text to drill", ("make_drill", "iter_drills", "Drill", "VersionView", "Word", "Passage")),
    ("Choices", ("DrillOptions", "Strategy", "list_accents")),
    ("What is loaded once", ("Engine", "Lexicon", "parse_overrides")),
    ("Stages alone", ("pronounce", "swap", "respell")),
    (
        "Sheets and files",
        (
            "Worksheet",
            "lay_out_drills",
            "render",
            "Format",
            "PageOptions",
            "PageSize",
            "parse_pitch",
            "render_json",
            "load_json",
        ),
    ),
    ("Errors", ("DrillgenError",)),
)


def document(name: str) -> str:
    """Heading, signature and docstring of a public name, its examples as code."""
    value = getattr(drillgen, name)
    text = inspect.getdoc(value) or ""
    blocks = re.split(r"(?m)(?=^>>> )", text, maxsplit=1)
    parts = [f"### {name}", f"```text\n{describe(name, value)}\n```", prose(blocks[0])]
    if isinstance(value, type):
        parts += members(value)
    if len(blocks) > 1:
        parts.append(f"```pycon\n{blocks[1].strip()}\n```")
    return "\n\n".join(part for part in parts if part)


def describe(name: str, value: object) -> str:
    """The signature as one would write a call, types left to the editor."""
    if isinstance(value, type) and issubclass(value, Enum):
        return f"{name}: " + ", ".join(repr(member.value) for member in value)
    if not callable(value):
        return name
    parameters = [
        re.sub(r": .*?(?= = |$)", "", str(p)).replace(" = ", "=")
        for p in inspect.signature(value).parameters.values()
    ]
    return f"{name}({', '.join(shorten(p) for p in parameters)})"


def shorten(parameter: str) -> str:
    """A parameter; a default that is no plain value is left open."""
    name, equals, default = parameter.partition("=")
    plain = re.fullmatch(r"None|True|False|-?[\d.]+|'[^']*'", default)
    return parameter if not equals or plain else f"{name}=…"


def prose(text: str) -> str:
    """A docstring's paragraphs, single backquotes kept."""
    return "\n\n".join(" ".join(part.split()) for part in re.split(r"\n\s*\n", text.strip()))


def members(kind: type) -> list[str]:
    """The properties and methods of a class, each with its first sentence."""
    rows = []
    for name, value in vars(kind).items():
        if name.startswith("_") or issubclass(kind, Enum):
            continue
        inner = value.__func__ if isinstance(value, classmethod) else value
        if isinstance(inner, property) or inspect.isfunction(inner):
            text = prose(inspect.getdoc(inner) or "").split(">>>")[0]
            call = "" if isinstance(inner, property) else "()"
            rows.append(f"- `{name}{call}`: {text.split('. ')[0].rstrip('.')}.")
    return ["\n".join(rows)] if rows else []


def make_docs() -> str:
    """The whole page."""
    named = [name for _, names in TOPICS for name in names]
    assert sorted(named) == sorted(drillgen.__all__), "TOPICS does not name what is public"
    parts = [
        "# The Python library",
        "Everything below is imported from `drillgen`. This page is made from the docstrings "
        "by `tools/make_api_docs.py`; its examples run with the tests.",
    ]
    for topic, names in TOPICS:
        parts += [f"## {topic}", *map(document, names)]
    return "\n\n".join(parts) + "\n"


if __name__ == "__main__":
    TARGET.write_text(make_docs(), encoding="utf-8")
