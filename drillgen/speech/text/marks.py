"""Apostrophes, signs, dashes and slashes by their neighbours."""

from __future__ import annotations

from drillgen.speech.text.neighbours import FAR, Answer, Pieces, find_near, is_break
from drillgen.speech.text.scan import NUMBER, PUNCTUATION, SPACE, WORD, Piece
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import APOSTROPHES


def decide_trail(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """An apostrophe after a word: the dogs' bowls, goin' home; or a closing quote."""
    piece = pieces[i]
    mark = pieces[i + 1]
    if _is_quote_open(pieces, i) and not _closes_later(pieces, i + 1):
        return i + 1, (piece,)
    spoken = piece.spoken
    lower = piece.text.lower()
    if lower.endswith("in") and spoken and not lower.endswith("'n"):
        spoken = (*spoken[:-1], spoken[-1] + "'")
    return i + 2, (Piece(piece.text + mark.text, WORD, spoken),)


def _is_quote_open(pieces: Pieces, i: int) -> bool:
    """Whether a single quote was opened before and not closed."""
    for k in range(i - 1, max(-1, i - FAR), -1):
        piece = pieces[k]
        if is_break(piece):
            return False
        if piece.text in tuple(APOSTROPHES):
            before = pieces[k - 1] if k else None
            return (
                before is None
                or before.kind is SPACE
                or (before.kind is PUNCTUATION and before.text[0] not in ".,;:!?…")
            )
    return False


def _closes_later(pieces: Pieces, i: int) -> bool:
    """Whether a closing single quote stands further on, before another one opens."""
    for k in range(i + 1, min(len(pieces), i + FAR)):
        piece = pieces[k]
        if is_break(piece):
            return False
        if piece.text in tuple(APOSTROPHES):
            return pieces[k - 1].kind is not SPACE and pieces[k - 1].rule != "trail"
    return False


def decide_clipped(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """'round, 'course, 'till at the start of a quotation are whole words in quotes."""
    piece = pieces[i]
    key = piece.text.lower()
    if key[1:] in ("round", "course", "till", "cause", "ere", "kay", "em") and (
        piece.text[0] in "'‘" and piece.text[1:2].isupper()
    ):
        word = piece.text[1:]
        parts = (Piece(piece.text[0], PUNCTUATION), Piece(word, WORD, (word.lower(),)))
        return i + 1, parts
    return i + 1, (piece,)


def decide_sign(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """~ before a number is "about"."""
    piece = pieces[i]
    following = pieces[i + 1] if i + 1 < len(pieces) else None
    if piece.text == "~":
        if following and following.kind is NUMBER:
            return i + 1, (Piece("~", NUMBER, ("about",)),)
        return i + 1, (Piece("~", piece.kind),)
    return i + 1, (piece,)


def decide_dash(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A minus sign that stands as a dash says nothing."""
    piece = pieces[i]
    before, following = find_near(pieces, i, -1), find_near(pieces, i, 1)
    numeric = any(k >= 0 and pieces[k].kind is NUMBER for k in (before, following))
    if numeric:
        return i + 1, (piece,)
    return i + 1, (Piece(piece.text, PUNCTUATION),)


def decide_slash(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A slash between an amount and a word is "per"; otherwise it says nothing."""
    piece = pieces[i]
    if 0 < i < len(pieces) - 1:
        before, after = pieces[i - 1], pieces[i + 1]
        rate = before.rule in ("money", "measure", "amount") and after.kind is WORD
        if rate and after.text.islower() and len(after.text) > 1:
            return i + 1, (Piece(piece.text, NUMBER, ("per",)),)
    return i + 1, (piece,)
