"""Closed classes of words that the rules of prosody name. Lower case, as they are spoken."""

from __future__ import annotations

from typing import Final


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


NEGATIVES: Final = _set("not never no nobody nothing none neither nowhere hardly cannot")
"""Words that turn a sentence round. Contractions in n't are told by their ending."""

SUBJECTS: Final = _set("i you he she it we they there one")
AUXILIARIES: Final = _set(
    "am is are was were do does did have has had can could will would shall should may might "
    "must isn't aren't wasn't weren't don't doesn't didn't haven't hasn't hadn't can't couldn't "
    "won't wouldn't shan't shouldn't mustn't ain't needn't"
)
WH: Final = _set("who whom whose what which when where why how whoever whatever")
CHECKS: Final = _set("right okay ok eh huh yes no yeah")

CLAUSE_WORDS: Final = _set(
    "and but or nor so yet because although though while when where which who whom whose that "
    "if unless until since before after as than whether"
)
PREPOSITIONS: Final = _set(
    "about above across against along among around at behind below beneath beside between "
    "beyond by down during for from in inside into near of off on onto out over past through to "
    "toward towards under up upon with within without"
)
DETERMINERS: Final = _set(
    "a an the my your his her its our their this that these those every each some any"
)
CONTRACTED: Final = _set(
    "i'm you're he's she's it's we're they're that's there's here's who's what's where's how's "
    "i've you've we've they've i'll you'll he'll she'll it'll we'll they'll that'll there'll "
    "i'd you'd he'd she'd it'd we'd they'd who'd who'll who've what're let's 'tis 'twas"
)
"""A light word with a light verb."""

LIGHT: Final = (
    SUBJECTS
    | (AUXILIARIES - {word for word in AUXILIARIES if word.endswith("n't")})
    | WH
    | CLAUSE_WORDS
    | PREPOSITIONS
    | DETERMINERS
    | CONTRACTED
    | _set(
        "me him us them myself yourself himself herself itself ourselves themselves oneself be "
        "been being having ought such here then just per via amid amongst around like except "
        "lest whereas once throughout till underneath unlike another both either us cause 'em "
        "oh ah mr mrs ms mister missus"
    )
)
"""Words that have no beat of their own: the structure words of Wells (2006), section 3.4."""

CLINGING: Final = LIGHT - _set("me him us them one there here then myself yourself")
"""Words that lean on the next one: nobody breathes after them."""

GIVEN: Final = _set(
    "thing things people person one ones stuff somebody someone something anybody anyone "
    "anything everybody everyone everything somewhere anywhere today tonight tomorrow yesterday "
    "now then here there again anyway though sometimes please it"
)
"""Words that say little at the end of a phrase: the nucleus goes to a word before them, if
there is one with a beat (Wells 2006, sections 3.7, 3.18 and 3.21: empty words, indefinite
pronouns, time adverbials)."""
