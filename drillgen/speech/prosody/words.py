"""Closed classes of words that the rules of prosody name. Lower case, as they are spoken."""

from __future__ import annotations

from typing import Final


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


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
OPENERS: Final = _set(
    "if when while whilst as because since after before although though until unless once now "
    "where"
)
"""Conjunctions of clauses that may come before the main one."""

PREPOSITIONS: Final = _set(
    "about above across against along among around at behind below beneath beside between "
    "beyond by down during for from in inside into near of off on onto out over past through to "
    "toward towards under up upon with within without"
)
PARTICLES: Final = _set(
    "up down out off away back over on in around along through about by apart together forward "
    "aside ahead under"
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
GIVEN: Final = (INDEFINITE - {"nothing", "nobody"}) | _set(
    "thing things people person one ones stuff today tonight tomorrow yesterday "
    "now then here there again anyway though sometimes please while instead perhaps maybe "
    "darling dear sir madam ever however indeed also even only usually actually probably "
    "apparently obviously somehow recently lately anymore really thankfully luckily unluckily "
    "fortunately unfortunately annoyingly lol haha hahaha lmao tbh"
)
"""Words that say little at the end of a phrase: the nucleus goes to a word before them, if
there is one with a beat (Wells 2006, sections 3.7, 3.18 and 3.21: empty words, indefinite
pronouns, adverbials of time and of the whole sentence)."""

TRAILERS: Final = _set(
    "somehow anywhere somewhere everywhere anyway recently lately sometimes though"
)
"""Those of GIVEN before which an adverb still goes with its verb: she ran AWAY somewhere."""

STAY_NEW: Final = _set("again now then today tonight tomorrow yesterday instead still")
"""The same, where all before them is old news: I hated it, and I hate it NOW."""

COMMENTS: Final = _set(
    "sadly surprisingly strangely oddly "
    "naturally clearly happily honestly basically really strictly guess think suppose reckon hope "
    "believe mean know"
)
"""The last words of a comment that says little after a comma: sadly, I think, you know."""

FAINT: Final = _set(
    "know knew known think thought say said tell told go goes went gone going get got getting "
    "come came coming look looked looking see saw seen make made making take took taken taking "
    "feel felt want wanted need needed use used try tried put let give gave given keep kept find "
    "found mean meant"
)
"""Verbs so common that nobody remembers them: said twice, they are no old news."""

PERIODS: Final = _set(
    "second minute hour day night week month year moment time morning afternoon evening "
    "percent dollar pound mile"
)
"""Nouns that count: another number of them is no old news."""

ASIDES: Final = frozenset(
    {
        ("of", "course"),
        ("as", "well"),
        ("for", "example"),
        ("for", "instance"),
        ("in", "fact"),
        ("a", "bit"),
        ("any", "more"),
        ("each", "other"),
        ("one", "another"),
        ("or", "so"),
    }
)
"""Two words that say little at the end of a phrase, as those of GIVEN do."""

EVENTS: Final = _set(
    "ringing crying boiling coming leaking burning barking dripping starting arriving bleeding "
    "melting freezing slipping falling"
)
"""What happens: a whole sentence of a noun and one of these is new, and its nucleus is on the
noun (Wells 2006, section 3.27)."""

REFLEXIVES: Final = _set("myself yourself himself herself itself ourselves yourselves themselves")

SURNAMES: Final = _set("bell park parks field fields wall case pool light book station bill pan")
"""Second parts of compounds that end a name as another last part does: Hyde PARK, Anna BELL."""

VOCATIVES: Final = _set(
    "sir madam ma'am dear darling love mum mom mummy dad daddy mother father doctor captain "
    "everyone everybody children boys girls ladies gentlemen friend friends man guys"
)
GREETINGS: Final = _set(
    "hi hello hey thanks thank-you thank-you-so-much thanks-again many-thanks sorry bye goodbye "
    "cheers congratulations good-morning good-evening good-afternoon good-night morning evening "
    "happy-birthday well-done see-you see-you-later see-you-soon love-you miss-you come-on"
)
"""What is said before a name that is called, often without a comma in between."""

RELATIONS: Final = _set(
    "wife husband partner son daughter brother sister mother father mum mom dad friend cousin "
    "aunt uncle nephew niece grandmother grandfather neighbour neighbor boss teacher dog cat"
)
SAYING: Final = _set(
    "said says say asked asks cried cries whispered whispers replied replies answered answers "
    "called calls shouted muttered murmured added exclaimed continued thought laughed sighed "
    "told repeated returned observed remarked demanded inquired agreed insisted explained "
    "admitted warned snapped growled screamed yelled called went tell tells whisper reply cry "
    "shout mutter queries query queried"
)
"""Verbs that tell who speaks."""

DISCOURSE: Final = _set(
    "yes no oh ah well now then so please okay ok yeah hello hi hey thanks sorry look listen "
    "right alas indeed however therefore moreover anyway besides meanwhile still"
)
"""Words that may stand for themselves before a comma."""

DEGREES: Final = _set("very too quite rather")
CLINGING: Final = (
    LIGHT - OBJECTS - SUBJECTS - _set("here then just myself yourself himself herself itself")
    | DEGREES
    | _set("i he she we they such no mr mrs ms")
)
"""Words that lean on the next one: nobody breathes after them."""

BEFORE_TO: Final = _set(
    "want wants wanted going used have has had having able need needs needed likes ought got try "
    "tried tries trying began begin begins seem seems seemed about "
    "adjacent due close similar according next related likely ready able willing up"
)
"""Words that a following "to" is never parted from."""

BEFORE_OF: Final = _set(
    "kind sort lot lots cup piece bit couple number out because instead ahead top front side end "
    "pair glass bag bottle box plenty one some all most many none each part half rest full"
)
"""Words that a following "of" is never parted from."""

TOUCHED: Final = _set(
    "and but or if as than that which who whom at by for from in of on to with through like "
    "while whilst since because until am is are was "
    "were be been can could will would shall should may do does did has have had"
)
"""Words of one syllable that readers say high where a phrase begins with them, and that
nobody stresses."""

TRAILING: Final = _set("about towards toward without one ones")
"""Prepositions of two syllables and nouns of nothing that nobody stresses after the nucleus,
though readers say them high: what I'm TALKING about, the OLD one."""

LEANING: Final = _set(
    "believe believes believed think thinks thought talk talks talked talking care cares cared "
    "know knows knew hear heard live lives lived living work works worked depend depends rely "
    "insist worry worried look looks looked looking wait waited waiting ask asked asking "
    "interested involved speak spoke"
)
"""Verbs with a preposition of their own, which is no particle at the end: believe in."""

TAKING: Final = _set(
    "put turn turned go goe going went get got gotten come came coming hand handed carry "
    "carried try tried keep kept hold held hang hung take took taken bring brought let switch "
    "switched move moved run ran pas passed give gave given call called fill filled look "
    "looked throw threw set pull pulled plug log logged sign signed tune hop had have wore "
    "wear"
)
"""Verbs that take an adverb with them (put on, go over), as their stems are written."""

GIVING: Final = _set(
    "give gives gave giving given buy buys bought buying send sends sent sending show shows "
    "showed offer offers offered lend lends lent bring brings brought tell tells told make makes "
    "made"
)
"""Verbs of two objects: buy that child another coat."""

PASTS: Final = _set(
    "froze slept spoke woke swam sang wept crept swore threw grew flew drew knelt leapt dug hung "
    "stole fled fell began ate drank went came"
)
"""Verbs that are no nouns, whatever a tagger makes of them."""

PEOPLE: Final = _set("man men woman women boy boys girl girls")
AMBIGUOUS: Final = _set(
    "like can will may might must while past round inside outside near down up"
)
"""Structure words that are nouns, adjectives or verbs elsewhere: their tag decides."""

TIMES: Final = _set(
    "hour morning afternoon evening night day week month year time spring summer autumn winter "
    "monday tuesday wednesday thursday friday saturday sunday weekend"
)
BEFORE_TIMES: Final = _set("this that last next every")
"""With a time they make an adverbial that says little at the end: this morning, last night."""
