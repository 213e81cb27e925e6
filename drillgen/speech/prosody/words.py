"""Classes of words that the rules of prosody name. Lower case, as they are spoken.

The closed classes are written out here, vocabulary in drillgen/data/prosody_words.tsv.
"""

from __future__ import annotations

from functools import cache
from typing import Final

from drillgen.core.resources import read_table


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


@cache
def members(name: str) -> frozenset[str]:
    """The words of a row of drillgen/data/prosody_words.tsv."""
    rows = read_table("prosody_words.tsv")
    return next(frozenset(words.split()) for known, words, _ in rows if known == name)


NEGATED: Final = _set(
    "isn't aren't wasn't weren't ain't don't doesn't didn't haven't hasn't hadn't can't couldn't "
    "won't wouldn't shan't shouldn't mustn't mightn't needn't"
)
NEGATIVES: Final = NEGATED | _set("not never no nobody nothing none neither nowhere hardly cannot")
"""Words that turn a sentence round."""

SUBJECTS: Final = _set("i you he she it we they there one")
OBJECTS: Final = _set("me you him her it us them 'em")
MODALS: Final = _set("can could will would shall should may might must")
BE: Final = _set("am is are was were be been being isn't aren't wasn't weren't ain't")
HAVE: Final = _set("have has had having haven't hasn't hadn't")
DO: Final = _set("do does did don't doesn't didn't")
AUXILIARIES: Final = (
    MODALS
    | (BE - {"be", "been", "being"})
    | (HAVE - {"having"})
    | DO
    | _set("can't couldn't won't wouldn't shan't shouldn't mustn't mightn't needn't cannot")
)
POINTING: Final = _set("this that these those")
WHO: Final = OBJECTS - {"it"} | SUBJECTS - {"it", "there", "one"} | POINTING
WHOM: Final = WHO - POINTING
THEM: Final = OBJECTS - {"it", "you"}
WH: Final = _set("who whom whose what which when where why how whoever whatever")
CHECKS: Final = _set("right okay ok eh huh yes no yeah")

CLAUSE_WORDS: Final = _set(
    "and but or nor so yet because although though while whilst when where which who whom "
    "whose that if unless until since before after as than whether"
)

PREPOSITIONS: Final = _set(
    "about above across against along among around at behind below beneath beside between "
    "beyond by down during for from in inside into near of off on onto out over past through to "
    "toward towards under up upon with within without"
)
PARTICLES: Final = _set(
    "up down out off away back over on in around along through about by apart together forward "
    "aside ahead under across round"
)
"""Adverbs that go with a verb: sit down, give up."""

POSSESSIVES: Final = _set("my your his her its our their whose")
ARTICLES: Final = _set("a an the every each no")
DETERMINERS: Final = ARTICLES | POSSESSIVES | _set("this that these those some any")
CONTRACTED: Final = _set(
    "i'm you're he's she's it's we're they're that's there's here's who's what's where's how's "
    "i've you've we've they've i'll you'll he'll she'll it'll we'll they'll that'll there'll "
    "i'd you'd he'd she'd it'd we'd they'd who'd who'll who've what're let's 'tis 'twas"
)
"""A light word with a light verb."""

UNMARKED: Final = {
    word.replace("'", ""): word
    for word in CONTRACTED | NEGATED
    if word.replace("'", "")
    not in _set("its were well shell hell ill id wed shed hed lets whos hows heres aint wheres")
}
"""Contractions as hasty people write them: dont, im, thats."""

PRONOUNS: Final = (
    SUBJECTS - {"there", "one"}
    | POSSESSIVES - {"whose"}
    | {word for word in CONTRACTED if word.partition("'")[0] in SUBJECTS | {"that"}}
)
"""Readers often begin a sentence high, on a pronoun too; it has no beat for that."""

POSSESSED: Final = _set("mine yours hers ours theirs")

LIGHT: Final = (
    SUBJECTS
    | OBJECTS
    | {word for word in AUXILIARIES | BE | HAVE if not word.endswith("n't")} - {"cannot"}
    | WH
    | CLAUSE_WORDS
    | PREPOSITIONS
    | DETERMINERS
    | CONTRACTED
    | _set(
        "myself yourself himself herself itself ourselves themselves oneself ought such then "
        "just per via amid amongst like except lest whereas throughout till underneath unlike "
        "us cause plus minus versus mr mrs ms mister missus here"
    )
) - {"no"}
"""Words that have no beat of their own: the structure words of Wells (2006), section 3.4."""

INDEFINITE: Final = _set(
    "somebody someone something anybody anyone anything everybody everyone everything nothing "
    "nobody somewhere anywhere"
)

DEGREES: Final = _set("very too quite rather")
CLINGING: Final = (
    LIGHT - OBJECTS - SUBJECTS - _set("here then just myself yourself himself herself itself")
    | DEGREES
    | _set("i he she we they such no mr mrs ms")
)
"""Words that lean on the next one: nobody breathes after them."""

AMBIGUOUS: Final = _set(
    "like can will may might must while past round inside outside near down up"
)
"""Structure words that are nouns, adjectives or verbs elsewhere: their tag decides."""

BEFORE_TIMES: Final = _set("this that last next every")
"""With a time they make an adverbial that says little at the end: this morning, last night."""
