"""Every message about what a user wrote, whole: where, what, and the mend.

The table has a kind of notation, what is written (with \\n for a line's end) and the message.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

import pytest

from drillgen.core.errors import InputError
from drillgen.core.phones import parse_phones
from drillgen.speech.pronounce.ipa import parse_ipa
from drillgen.speech.pronounce.overrides import (
    add_overrides,
    no_lookup,
    parse_overrides,
    parse_said,
)
from drillgen.speech.pronounce.pls import NAMESPACE, read_pls
from drillgen.speech.pronounce.soundalike import parse_soundalike

CASES = [
    line.split("\t")
    for line in (Path(__file__).parent / "data" / "messages.tsv")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]
START: Final = f'<lexicon xmlns="{NAMESPACE}" version="1.0" alphabet="ipa" xml:lang="en">'
READERS: Final[Mapping[str, Callable[[str], object]]] = {
    "ipa": parse_ipa,
    "like": lambda text: parse_soundalike(text, no_lookup),
    "said": lambda text: parse_said(text, no_lookup),
    "list": lambda text: parse_overrides(text, "words.txt"),
    "pls": lambda text: read_pls(f"{START}\n{text}\n</lexicon>".encode(), "words.pls"),
    "root": lambda text: read_pls(
        text.replace("pls:", f'xmlns="{NAMESPACE}"').encode(), "words.pls"
    ),
    "add": lambda text: add_overrides("", {text: parse_phones("AH0")}),
}


@pytest.mark.parametrize(
    ("kind", "text", "message"), CASES, ids=[f"{kind} {text}" for kind, text, _ in CASES]
)
def test_messages(kind: str, text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        READERS[kind](text.replace(r"\n", "\n"))
    assert str(caught.value) == message
