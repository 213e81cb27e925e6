"""Names of speakers before what they say in a dialogue: they are printed, not said."""

from __future__ import annotations

import re
from collections import Counter
from typing import Final

from drillgen.core.values import Token, TokenKind

_LABEL: Final = re.compile(r"^[ \t]*([A-Z][\w.’'-]*(?: [A-Z][\w.’'-]*){0,2})(?=:[ \t]+\S)", re.M)


def hush_speakers(text: str, tokens: tuple[Token, ...], start: int = 0) -> tuple[Token, ...]:
    """The tokens of a text, those of its speakers' names without words to say.

    A label of one to three words opens a line and ends with a colon, and one of them comes
    back; "Note:" alone is said. `start` is the offset of the text.

    >>> from drillgen.speech.text.tokens import tokenize
    >>> [t.text for t in tokenize("Ann: Late?\\nTom: No.\\nAnn: Good.") if t.spoken]
    ['Late', 'No', 'Good']
    """
    labels = list(_LABEL.finditer(text))
    counts = Counter(label[1] for label in labels)
    if len(labels) == len(counts):
        return tokens
    names = {start + i for label in labels for i in range(*label.span(1))}
    return tuple(
        token._replace(kind=TokenKind.OTHER, spoken=(), other=(), note="")
        if token.spoken and token.start in names
        else token
        for token in tokens
    )
