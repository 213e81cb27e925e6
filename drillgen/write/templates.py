"""Templates of web pages, in which all text is text, and how a policy names their styles."""

from __future__ import annotations

import base64
import hashlib
from typing import TYPE_CHECKING, Any

from drillgen.core.resources import resource_folder

if TYPE_CHECKING:
    from jinja2 import Environment


def load_templates(folder: str, **settings: Any) -> Environment:
    """The templates of a folder of templates/; a name that is missing in one is an error.

    `settings`: more of jinja2's own.
    """
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    return Environment(
        loader=FileSystemLoader(resource_folder("templates") / folder),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        **settings,
    )


def read_part(name: str) -> str:
    """A style or script in templates/, with the same line ends everywhere."""
    text = (resource_folder("templates") / name).read_text(encoding="utf-8")
    return text.replace("\r\n", "\n").strip()


def hash_source(text: str) -> str:
    """A style or script as a Content-Security-Policy names it."""
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"
