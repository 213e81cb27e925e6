"""The decisions that need the neighbours: "Dr." by the word after it, "5 km" by its number.

A rule gets all pieces and the place of its own; it answers with the place where reading goes
on and the pieces that stand for those in between. Rules look only at pieces as the scanner
left them, so their order doesn't matter.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import attrgetter
from typing import Final

from drillgen.speech.text.abbreviations import decide_abbreviation, decide_short
from drillgen.speech.text.capitals import (
    decide_article,
    decide_capitals,
    decide_initial,
    decide_letter,
    decide_small_roman,
    decide_times,
)
from drillgen.speech.text.codes import decide_extension
from drillgen.speech.text.marks import (
    decide_clipped,
    decide_dash,
    decide_sign,
    decide_slash,
    decide_trail,
)
from drillgen.speech.text.neighbours import Row, Rule
from drillgen.speech.text.notation import decide_notation
from drillgen.speech.text.pairs import decide_chain, decide_odds, decide_pair, decide_ratio
from drillgen.speech.text.quantities import (
    decide_amount,
    decide_attached,
    decide_currency,
    decide_decade,
    decide_money,
    decide_prime,
    decide_quantity,
    decide_thousand,
    decide_unit,
)
from drillgen.speech.text.rivals import find_rivals
from drillgen.speech.text.scan import NUMBER, SPACE, Piece
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.thin import list_unsettled
from drillgen.speech.text.times import decide_clock, decide_noted, decide_ordinal

_NOTE: Final = attrgetter("note")


RULES: Final[dict[str, Rule]] = {
    "abbreviation": decide_abbreviation,
    "amount": decide_amount,
    "article": decide_article,
    "capitals": decide_capitals,
    "chain": decide_chain,
    "clipped": decide_clipped,
    "clock": decide_clock,
    "currency": decide_currency,
    "dash": decide_dash,
    "extension": decide_extension,
    "decade": decide_decade,
    "fraction": decide_quantity,
    "foot": decide_prime,
    "inch": decide_prime,
    "initial": decide_initial,
    "letter": decide_letter,
    "measure": decide_attached,
    "money": decide_money,
    "notation": decide_notation,
    "noted": decide_noted,
    "odds": decide_odds,
    "ordinal": decide_ordinal,
    "pair": decide_pair,
    "range": decide_quantity,
    "ratio": decide_ratio,
    "sign": decide_sign,
    "slash": decide_slash,
    "short": decide_short,
    "small roman": decide_small_roman,
    "thousand": decide_thousand,
    "times": decide_times,
    "trail": decide_trail,
    "unit": decide_unit,
}
"""The context rules, by the name that a piece carries."""


def apply_context(
    pieces: Sequence[Piece], special: Sequence[int], tables: Tables
) -> tuple[list[Piece], list[int]]:
    """Let each rule decide; `special` are the places of the pieces that carry one.

    Gives the pieces, and the places of those that have a note or another reading.
    """
    pieces = Row(pieces)
    decided: list[Piece] = []
    noted: list[int] = []
    done = 0
    for i in special:
        rule = RULES.get(pieces[i].rule)
        if i < done or rule is None:
            continue
        decided += pieces[done:i]
        # A piece may keep the name of its rule: nobody looks at it again.
        done, replacement = rule(pieces, i, tables)
        first = replacement[0]
        if first.kind is NUMBER and not first.other and not first.note:
            marks = (mark for mark in reversed(decided[-2:]) if mark.kind is not SPACE)
            mark = next(marks, first)
            unsaid = "" if mark.spoken else mark.text
            other, note = find_rivals(pieces, i, done, first, unsaid, tables)
            if other:
                replacement = (first._replace(other=other, note=note), *replacement[1:])
        if pieces[i].rule != "short" and not any(map(_NOTE, replacement)):
            replacement = list_unsettled(pieces, i, done, replacement, tables)
        for piece in replacement:
            if piece.note:
                noted.append(len(decided))
            decided.append(piece)
    decided += pieces[done:]
    return decided, noted
