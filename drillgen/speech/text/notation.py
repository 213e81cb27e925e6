"""Codes that a craft or a game says in words: stitches, moves of chess, letters of a line.

Each is read so only where the text around it tells of that craft or game (data/text_cues.tsv).
"""

from __future__ import annotations

import re
from typing import Final

from drillgen.speech.text.neighbours import SURE_TOPIC, Answer, Pieces, tells
from drillgen.speech.text.rows import Words
from drillgen.speech.text.scan import NUMBER, Piece
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import name_letters

_STITCH: Final = re.compile(r"([kKpPM])(\d{1,3})")
_STITCHES: Final = {"k": "knit", "p": "purl", "m": "make"}
_MOVE: Final = re.compile(r"([KQRBN])?([a-h1-8])?(x)?([a-h])([1-8])")
_CHESSMEN: Final = {"K": "king", "Q": "queen", "R": "rook", "B": "bishop", "N": "knight", "": ""}


def decide_notation(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """k2 as "knit two" among stitches, Nxd4 as "knight takes d four" among moves."""
    piece = pieces[i]
    spoken, topic = piece.spoken, ""
    stitch = _STITCH.fullmatch(piece.text)
    move = _MOVE.fullmatch(piece.text)
    if stitch and tells(pieces, i, tables.cues["knitting"], 2):
        spoken = (_STITCHES[stitch[1].lower()], *tables.say.amount(stitch[2]))
        topic = "knitting"
    elif move and tells(pieces, i, tables.cues["chess"], 2):
        spoken, topic = _read_move(move, tables), "chess"
    if topic and not tells(pieces, i, tables.cues[topic], SURE_TOPIC):
        return i + 1, (Piece(piece.text, NUMBER, spoken, "", (piece.spoken,), "a code"),)
    return i + 1, (Piece(piece.text, NUMBER, spoken) if topic else piece,)


def _read_move(move: re.Match[str], tables: Tables) -> Words:
    """A move in algebraic notation (FIDE Laws of Chess, appendix C)."""
    man, source, takes, file, rank = move.groups("")
    start: Words = tables.say.amount(source) if source.isdecimal() else name_letters(source)
    name: Words = (_CHESSMEN[man],) if man else ()
    square = (*name_letters(file), *tables.say.amount(rank))
    return (*name, *start, *(("takes",) if takes else ()), *square)
