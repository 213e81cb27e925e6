"""Pronounce the words of tokens, in the order of trust.

overrides → dictionary (variant policy) → homographs by context → the accent's own dictionary →
Wiktionary → misaki → derived forms → slips of the keys → prediction; set phrases ("faux pas") go
before all but overrides. What has been worked out for a word form is kept in the object, so that a
repeated word costs one look-up; what is kept never changes an answer, and is thrown away as a
whole, so several threads may share it.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property, partial
from itertools import chain, compress, count
from operator import attrgetter
from threading import Lock
from typing import TYPE_CHECKING, Final, NamedTuple

from drillgen.core.accents import DEFAULT_ACCENT, Accent, load_accent
from drillgen.core.values import Origin, Phones, Pronunciation, Token, TokenKind
from drillgen.speech.pronounce.accent import (
    accent_word,
    needs_next,
    spell_whole,
    starts_with_vowel,
)
from drillgen.speech.pronounce.derive import Deriver, Tables, add_s, has_vowel
from drillgen.speech.pronounce.diacritics import keep_diacritics
from drillgen.speech.pronounce.homographs import HomographModel, HomographReading
from drillgen.speech.pronounce.lexical_sets import Spell
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.name_words import NameWord, NameWords
from drillgen.speech.pronounce.names import (
    DOUBTED,
    NameReader,
    judge_name,
    may_be_name,
    split_possessive,
)
from drillgen.speech.pronounce.overrides import Override, Overrides
from drillgen.speech.pronounce.set_phrases import SetPhrase, find_set_phrases, load_set_phrases
from drillgen.speech.pronounce.slips import SURE, Slip, Slips
from drillgen.speech.pronounce.supplement import Supplement
from drillgen.speech.pronounce.variants import FIRST_ENTRY, Variants
from drillgen.speech.pronounce.witness import Witness

if TYPE_CHECKING:
    from drillgen.speech.pronounce.predict import Predictor

Reading = tuple[Pronunciation, ...]
"""The pronunciations of the spoken words of one token."""

REVIEW_BELOW: Final = 0.82
"""Words of other sources less sure than this go on the review list."""

MAX_KEPT: Final = 20_000
"""Word forms to keep before starting afresh (about 20 MB): bounds the memory of a long run. A
book has some 30,000, most of them seldom."""

MAX_LETTERS: Final = 48
"""Longer "words" are cut for the predictor, whose work grows with the square of the length."""

REACH: Final = 60
"""Tokens, spaces included, that a homograph may look at to each side."""

_STOPS: Final = frozenset({".", "!", "?", "…", "...", "?!", "!?", "!!", "??"})


HOMOGRAPH_BELOW: Final = 0.87
"""The same for readings that context chose, whose confidence is of another make."""

GUESS_BELOW: Final = 0.9
"""The same for guesses."""

MISAKI_BELOW: Final = 0.935
"""The same for words of misaki's dictionaries."""

DERIVED_BELOW: Final = 0.88
"""The same for derived forms. With these three limits 0.16 of the right ones among the words that
CMUdict lacks are on the list and 0.62 of the wrong ones, chosen on half of the words that
bench/holdout.py keeps apart (0.14 and 0.67 on the other half). Of web text 4.5 in 1,000 words are
listed for them."""


def needs_review(pronunciation: Pronunciation) -> bool:
    """Whether a teacher should look at this pronunciation."""
    return pronunciation.confidence < _LIMITS.get(pronunciation.origin, REVIEW_BELOW)


_LIMITS: Final = {
    Origin.HOMOGRAPH: HOMOGRAPH_BELOW,
    Origin.PREDICTED: GUESS_BELOW,
    Origin.MISAKI: MISAKI_BELOW,
    Origin.DERIVED: DERIVED_BELOW,
}


AS_NAME: Final = 0.9
"""Confidence in the name where a word may be one and stands like one."""

AS_SLIP: Final = 0.75
"""Confidence in the word that a slip stands for: always on the review list."""

COMMON_START: Final = 4.5
"""Zipf frequency from which a word with a capital, at the head of a sentence, may be meant:
otherwise it is somebody's name, and names are left as they are written."""


class Said(NamedTuple):
    """How a token is said."""

    reading: Reading
    sound: int
    """Equal numbers: the same words with the same phones, whatever the confidence; 0 where
    nothing is said. None is given twice by a pronouncer, so it may stand for them in a key."""


class _Form(NamedTuple):
    """All that is known of a token's spoken words."""

    paused: Said
    """Before a consonant or a pause."""

    linked: Said
    """Before a vowel in the same phrase."""

    by_context: bool
    """A homograph is among the words, `linked` differs from `paused`, or it may be a name."""

    homographs: tuple[int, ...]
    starts_with_vowel: bool
    name: bool
    """With a capital it is, or has, a name that the dictionaries are not sure of."""

    slip: Slip | None
    """It is no word; the forms say the common one that it is a slip for."""


class _Kept:
    """What was worked out so far: every entry follows from its key alone."""

    __slots__ = ("forms", "said", "slips", "words")

    def __init__(self) -> None:
        self.forms: dict[tuple[str, ...], _Form] = {}
        self.words: dict[str, Pronunciation] = {}
        self.slips: dict[str, Slip] = {}
        """What the words are read as that are slips."""

        self.said: dict[tuple[Hashable, bool], Said] = {}
        """Tokens that are said otherwise than by their form, by what they were said for and
        whether a vowel follows. The confidence in a homograph is that of the first sentence: it
        must not be used."""


_SPOKEN: Final = attrgetter("spoken")
_PAUSED: Final = attrgetter("paused")
_BY_CONTEXT: Final = attrgetter("by_context")
_TEXT: Final = attrgetter("text")
_SILENCE: Final = Said((), 0)


class Knowledge:
    """What is known of words whatever the accent and the user's list: the dictionary, the
    rules and the models of the installation. Read when needed, once, for all engines."""

    def __init__(self, lexicon: Lexicon, homographs: HomographModel, variants: Variants) -> None:
        self.lexicon: Final = lexicon
        self.homographs: Final = homographs
        self.variants: Final = variants
        self._lock: Final = Lock()
        self._local: Final[dict[str, Supplement]] = {}

    @classmethod
    def load(cls, lexicon: Lexicon | None = None) -> Knowledge:
        """That of the installation; `lexicon` stands for its dictionary."""
        # Not `or`: a dictionary is counted to be true.
        lexicon = Lexicon.load() if lexicon is None else lexicon
        return cls(lexicon, HomographModel.load(), Variants.load())

    @cached_property
    def _supplement(self) -> Supplement:
        return Supplement.load()

    @cached_property
    def _deriver(self) -> Deriver:
        return Deriver(self.list_bases, self.tables)

    @cached_property
    def tables(self) -> Tables:
        """What the rules of derived forms know."""
        return Tables.load()

    def list_bases(self, word: str) -> tuple[Phones, ...]:
        """What forms are built on: the entries of a word, the one that we say first."""
        entries = self.lexicon.entries(word)
        if len(entries) > 1:
            said = entries[
                self.variants.choose(word, entries, load_accent(DEFAULT_ACCENT)).position
            ]
            return (said, *(phones for phones in entries if phones != said))
        return entries or self._supplement.entries(word)

    @cached_property
    def _witness(self) -> Witness:
        return Witness.load()

    @cached_property
    def names(self) -> NameReader:
        """Reads names by the letters of their languages."""
        return NameReader.load()

    @cached_property
    def name_words(self) -> NameWords:
        """Words that are names too."""
        return NameWords.load()

    @cached_property
    def set_phrases(self) -> Mapping[str, Sequence[SetPhrase]]:
        """Phrases that are not said word by word."""
        return load_set_phrases()

    @cached_property
    def slips(self) -> Slips:
        """Finds the words that were meant where a slip stands."""
        return Slips.load(self.is_listed)

    def is_listed(self, word: str) -> bool:
        """Whether the dictionary has a word."""
        return bool(self.lexicon.entries(word))

    def is_name(self, written: str) -> bool:
        """Whether a word with a capital is nothing but a name."""
        lower = written.lower()
        return self.homographs.is_proper(lower) or self.lexicon.is_corrected(lower)

    @cached_property
    def _predictor(self) -> Predictor:
        from drillgen.speech.pronounce.predict import Predictor

        return Predictor.load()

    def find(self, word: str) -> Pronunciation | None:
        """A word that the dictionary lacks, from Wiktionary or misaki's dictionaries."""
        with self._lock:
            supplement = self._supplement
        return supplement.find(word)

    def open_local(self, table: str) -> Supplement:
        """The table of words that an accent names."""
        with self._lock:
            if table not in self._local:
                self._local[table] = Supplement.load_local(table)
            return self._local[table]

    def derive(self, word: str) -> Pronunciation | None:
        """A word as a form of known ones; None if it is none."""
        with self._lock:
            deriver = self._deriver
        return deriver.derive(word)

    def check(self, derived: Pronunciation) -> Pronunciation:
        """A derived form with a second opinion; no surer than the word whose -s it has."""
        with self._lock:
            witness = self._witness
        checked = witness.check(derived)
        doubt = self.lexicon.doubt(_cut_s(derived.word))
        return (
            replace(checked, confidence=min(doubt.share, checked.confidence)) if doubt else checked
        )

    def find_slip(self, word: str) -> Slip | None:
        """What a word that is not known may be a slip for."""
        with self._lock:
            slips = self.slips
        return slips.find(word)

    def predict(self, words: Sequence[str]) -> tuple[Pronunciation, ...]:
        """Guesses. Most texts have no word that must be guessed, so the networks wait."""
        with self._lock:
            predictor = self._predictor
        return predictor.predict(words)


class Pronouncer:
    """Turns spoken words into pronunciations in one accent."""

    def __init__(
        self,
        knowledge: Knowledge,
        overrides: Overrides,
        accent: Accent,
        spell: Spell = spell_whole,
    ) -> None:
        self._knowledge: Final = knowledge
        self._lexicon: Final = knowledge.lexicon
        self._variants: Final = knowledge.variants
        self._homographs: Final = knowledge.homographs
        self._overrides: Final = overrides
        self._accent: Final = accent
        self._is_reference: Final = accent.is_reference
        self._spell: Final = spell
        self._own_starts: Final = frozenset(entry.word[:3] for entry in overrides)
        self._numbers: Final = count(1)
        self._kept = _Kept()

    @cached_property
    def _own_forms(self) -> Deriver:
        own = self._overrides
        return Deriver(lambda word: tuple(filter(None, [own.get(word)])), self._knowledge.tables)

    @property
    def overrides(self) -> Overrides:
        """The user's own pronunciations."""
        return self._overrides

    def is_homograph(self, word: str) -> bool:
        """Whether context tells how a word is said."""
        return word in self._homographs

    @property
    def accent(self) -> Accent:
        """The accent of all pronunciations."""
        return self._accent

    def forget(self) -> None:
        """Drop everything that was worked out. Who is at work keeps what it holds."""
        self._kept = _Kept()

    # One word, before the accent

    def pronounce_word(self, word: str) -> Pronunciation:
        """The pronunciation of one spoken word without context."""
        return self._resolve((word,), self._kept)[word]

    def all_readings(self, word: str) -> tuple[Pronunciation, ...]:
        """Every pronunciation on offer: the first is the one that we would use."""
        first = self.pronounce_word(word)
        if word in self._homographs and first.origin is not Origin.OVERRIDE:
            return tuple(
                Pronunciation(word, r.phones, Origin.HOMOGRAPH, r.confidence, (), r.gloss)
                for r in self._homographs.readings(word)
            )
        if first.origin is Origin.SLIP:
            return (first, *self._knowledge.predict((word,)))
        return (first, *(replace(first, phones=p, note="") for p in first.alternatives))

    def _look_up(self, word: str) -> Pronunciation | None:
        """Everything but prediction."""
        entries = self._lexicon.entries(word)
        own = self._find_own(word, known=bool(entries))
        if own is not None:
            others = tuple(p for p in entries if p != own.phones)
            return replace(own, origin=Origin.OVERRIDE, confidence=1.0, alternatives=others)
        found = None if entries else self._find_local(word) or self._knowledge.find(word)
        if found is not None:
            return self._localize(found)
        if not any(has_vowel(phones) for phones in entries):
            # A word without a vowel ("hmm") may have a voiced form.
            derived = self._derive(word)
            if derived is not None and (not entries or has_vowel(derived.phones)):
                return self._localize(self._knowledge.check(derived) if not entries else derived)
            if not entries:
                return None
        choice = self._variants.choose(word, entries, self._accent)
        phones = entries[choice.position]
        others = tuple(p for p in entries if p != phones)
        is_letter = len(word) == 2 and word[1] == "."
        origin = Origin.SPELLED if is_letter else Origin.DICTIONARY
        note = choice.rule if others and choice.rule != FIRST_ENTRY else ""
        sureness = 1.0
        doubt = self._lexicon.doubt(word)
        if doubt is not None:
            others = tuple(dict.fromkeys(filter(None, (doubt.other, *others))))
            sureness, note = doubt.share, f"{doubt.why} say it otherwise"
        return self._localize(Pronunciation(word, phones, origin, sureness, others, note))

    @cached_property
    def _local_forms(self) -> Deriver:
        return Deriver(self._list_local_bases, self._knowledge.tables)

    def _list_local_bases(self, word: str) -> tuple[Phones, ...]:
        """What forms are built on in an accent with words of its own."""
        bases = self._knowledge.list_bases(word)
        own = self._variants.find_own(word, self._accent)
        if own is not None:
            return (own, *(phones for phones in bases if phones != own))
        if not self._accent.supplement or self._lexicon.entries(word):
            return bases
        return self._knowledge.open_local(self._accent.supplement).entries(word) or bases

    def _derive(self, word: str) -> Pronunciation | None:
        """A word as a form of known ones, those of the accent among them."""
        local = self._accent.words or self._accent.supplement
        found = self._local_forms.derive(word) if local else None
        return found or self._knowledge.derive(word)

    def _find_local(self, word: str) -> Pronunciation | None:
        """A word that the accent has a dictionary for, or its -s, which the American form of
        another word may be near to ("Barnsley's")."""
        if not self._accent.supplement:
            return None
        local = self._knowledge.open_local(self._accent.supplement)
        found = local.find(word)
        base = _cut_s(word)
        if found is None and base != word and local.entries(base):
            return self._local_forms.derive(word)
        return found

    def _find_own(self, word: str, *, known: bool) -> Pronunciation | None:
        """A word of the user's list, its possessive, or a form of it that the dictionary lacks:
        who corrects "Chahine" means "Chahine's" and "the Chahines" too."""
        if word[:3] not in self._own_starts:
            return None
        phones = self._overrides.get(word)
        if phones is not None:
            return Pronunciation(word, phones, Origin.OVERRIDE, note="from your word list")
        if known and not split_possessive(word)[1]:
            return None
        found = self._own_forms.derive(word)
        return found and replace(found, note=f"{found.note}, from your word list")

    def _localize(self, found: Pronunciation) -> Pronunciation:
        """The accent's own form where it has one."""
        phones = self._variants.localize(found.word, found.phones, self._accent)
        if phones == found.phones:
            return found
        others = (found.phones, *(p for p in found.alternatives if p != phones))
        return replace(found, phones=phones, alternatives=others, note="form of the accent")

    def _resolve(self, words: Iterable[str], kept: _Kept) -> Mapping[str, Pronunciation]:
        """Add words without context to the known ones, all unknown ones in one batch."""
        known = kept.words
        unknown = []
        for word in words:
            if word not in known:
                found = self._look_up(word) or self._read_slip(word, kept)
                if found is None:
                    unknown.append(word)
                else:
                    known[word] = found
        if unknown:
            pieces = {word: _cut_long(word) for word in dict.fromkeys(unknown)}
            distinct = tuple(dict.fromkeys(chain.from_iterable(pieces.values())))
            guesses = dict(zip(distinct, self._knowledge.predict(distinct), strict=True))
            for word, parts in pieces.items():
                known[word] = guesses[word] if word in guesses else _join(word, parts, guesses)
        return known

    # Tokens, in the accent

    def _accented(self, words: Sequence[Pronunciation], vowel_next: bool) -> Reading:
        """The words of one token in the accent, each before the next."""
        result = []
        reference = self._is_reference
        for i, word in enumerate(words):
            follows = starts_with_vowel(words[i + 1].phones) if i + 1 < len(words) else vowel_next
            listed = (word.phones, *word.alternatives)
            said = tuple([self.in_accent(word.word, phones, follows) for phones in listed])
            if reference and said == listed:
                result.append(word)
                continue
            entries = () if reference else listed
            # Without dataclasses.replace, which takes three times as long.
            result.append(
                Pronunciation(
                    word.word,
                    said[0],
                    word.origin,
                    word.confidence,
                    said[1:],
                    word.note,
                    entries,
                )
            )
        return tuple(result)

    def in_accent(self, word: str, phones: Phones, next_is_vowel: bool = False) -> Phones:
        """A pronunciation of the dictionary in the accent."""
        if self._is_reference and "ER" not in [phone.symbol for phone in phones]:
            return phones
        return accent_word(phones, self._accent, next_is_vowel, word, self._spell)

    def _make_form(
        self,
        spoken: tuple[str, ...],
        known: Mapping[str, Pronunciation],
        slips: Mapping[str, Slip],
    ) -> _Form:
        words = tuple([known[word] for word in spoken])
        homographs = tuple(
            [
                i
                for i, word in enumerate(words)
                if word.word in self._homographs and word.origin is not Origin.OVERRIDE
            ]
        )
        paused = self._number(self._accented(words, vowel_next=False))
        links = bool(words) and needs_next(words[-1].phones, self._accent)
        linked = self._number(self._accented(words, vowel_next=True)) if links else paused
        starts = bool(words) and starts_with_vowel(words[0].phones)
        name = not homographs and (
            any(map(may_be_name, words)) or (len(spoken) > 1 and any(map(self._is_beside, spoken)))
        )
        slip = slips.get(spoken[0]) if len(spoken) == 1 else None
        by_context = links or name or bool(homographs or slip)
        return _Form(paused, linked, by_context, homographs, starts, name, slip)

    def _read_slip(self, word: str, kept: _Kept) -> Pronunciation | None:
        """An unknown word as the common word that was meant, where that is likely."""
        slip = self._knowledge.find_slip(word)
        meant = self._look_up(slip.meant) if slip is not None and slip.chance >= SURE else None
        if slip is None or meant is None:
            return None
        kept.slips[word] = slip
        return Pronunciation(
            word, meant.phones, Origin.SLIP, AS_SLIP, (), f"a slip for “{slip.meant}”"
        )

    def _is_beside(self, word: str) -> bool:
        """Whether a word is said in its own way beside a hyphen."""
        bare = word.removesuffix("'s")
        return self._lexicon.is_corrected(f"{bare}-") or self._lexicon.is_corrected(f"-{bare}")

    def _number(self, reading: Reading) -> Said:
        return Said(reading, next(self._numbers)) if reading else _SILENCE

    def pronounce(self, tokens: Sequence[Token]) -> list[Reading]:
        """Per token, the pronunciations of its spoken words."""
        return [said.reading for said in self.say(tokens)]

    def say(
        self, tokens: Sequence[Token], fixed: Mapping[int, Override] | None = None
    ) -> list[Said]:
        """Per token, how it is said; `fixed` has the corrections of single places by index.

        A homograph looks at the words of its sentence, a final r at the next
        word, unless a mark of punctuation stands between.
        """
        kept = self._kept
        if len(kept.forms) > MAX_KEPT:
            kept = self._kept = _Kept()
        forms = kept.forms
        spoken = list(map(_SPOKEN, tokens))
        new = set(spoken).difference(forms)
        if new:
            known = self._resolve(sorted(set(chain.from_iterable(new))), kept)
            for words in new:
                # Another thread may have made it meanwhile: one number for one sound.
                forms.setdefault(words, self._make_form(words, known, kept.slips))
        # Most tokens need no context, so the rest are picked out before any Python loop.
        row = list(map(forms.__getitem__, spoken))
        said = list(map(_PAUSED, row))
        open_ = list(map(_BY_CONTEXT, row))
        plain = list(map(str.isascii, map(_TEXT, tokens)))
        if not all(plain):
            # The spoken words have lost the accents, which tell how a name is said.
            open_ = [seen or not ascii_ for seen, ascii_ in zip(open_, plain, strict=True)]
        for index in compress(count(), open_):
            said[index] = self._say_in_context(tokens, row, index, kept)
        known_names = self._knowledge.name_words
        for index in compress(count(), map(known_names.written.__contains__, map(_TEXT, tokens))):
            name = known_names.find(tokens, index, self._knowledge.is_name)
            if name is not None:
                said[index] = self._say_name_word(tokens, row, index, name, kept) or said[index]
        for index, phones in find_set_phrases(tokens, spoken, self._knowledge.set_phrases):
            said[index] = self._say_in_phrase(tokens, row, index, phones, kept)
        for index, override in (fixed or {}).items():
            said[index] = self._say_fixed(tokens, row, index, override, kept)
        return said

    def _say_fixed(
        self,
        tokens: Sequence[Token],
        row: Sequence[_Form],
        index: int,
        override: Override,
        kept: _Kept,
    ) -> Said:
        """A token with a word corrected in this place."""
        spoken = tokens[index].spoken
        vowel_next = _is_vowel_next(tokens, row, index)

        def say() -> Iterator[Pronunciation]:
            for word in spoken:
                found = kept.words[word]
                yield self._fix(found, override) if word == override.word else found

        what = ("fixed", spoken, override.word, override.phones)
        return self._say_once(kept, what, vowel_next, say)

    def _say_once(
        self,
        kept: _Kept,
        what: Hashable,
        vowel_next: bool,
        say: Callable[[], Iterable[Pronunciation]],
    ) -> Said:
        """What `say` gives for a token, worked out once for all that it follows from."""
        key = (what, vowel_next)
        said = kept.said.get(key)
        if said is None:
            reading = self._accented(tuple(say()), vowel_next)
            said = kept.said.setdefault(key, self._number(reading))
        return said

    def _say_in_phrase(
        self,
        tokens: Sequence[Token],
        row: Sequence[_Form],
        index: int,
        phones: tuple[Phones, ...],
        kept: _Kept,
    ) -> Said:
        """A token of a set phrase; what the user's list has, stays."""
        spoken = tokens[index].spoken
        vowel_next = _is_vowel_next(tokens, row, index)

        def say() -> Iterator[Pronunciation]:
            for word, said_so in zip(spoken, phones, strict=True):
                found = kept.words[word]
                if found.origin is not Origin.OVERRIDE:
                    offers = (said_so, *self._offers(found))
                    found = _rechoose(found, offers, Origin.DICTIONARY, 1.0, "in a set phrase")
                yield found

        return self._say_once(kept, ("phrase", spoken, phones), vowel_next, say)

    def _say_name_word(
        self,
        tokens: Sequence[Token],
        row: Sequence[_Form],
        index: int,
        name: NameWord,
        kept: _Kept,
    ) -> Said | None:
        """A word as the name that it is here; None where the user's list has it."""
        token = tokens[index]
        vowel_next = _is_vowel_next(tokens, row, index)
        found = kept.words[token.spoken[0]]
        if found.origin is Origin.OVERRIDE or len(token.spoken) > 1:
            return None

        def say() -> Iterator[Pronunciation]:
            offers = (*name.phones, *self._offers(found))
            confidence = AS_NAME if name.sure else DOUBTED
            yield _rechoose(found, offers, Origin.NAME, confidence, name.what)

        what = ("name word", name.what, name.sure, token.text, token.spoken)
        return self._say_once(kept, what, vowel_next, say)

    def _offers(self, found: Pronunciation) -> tuple[Phones, ...]:
        if found.word in self._homographs:
            return tuple(r.phones for r in self._homographs.readings(found.word))
        return (found.phones, *found.alternatives)

    def _fix(self, found: Pronunciation, override: Override) -> Pronunciation:
        offers = (override.phones, *self._offers(found))
        return _rechoose(
            found, offers, Origin.OVERRIDE, 1.0, "from your word list, for this place"
        )

    def _say_in_context(
        self, tokens: Sequence[Token], row: Sequence[_Form], index: int, kept: _Kept
    ) -> Said:
        form = row[index]
        vowel_next = _is_vowel_next(tokens, row, index)
        if form.slip is not None and not _is_slip(tokens, index, form.slip):
            return self._say_unslipped(tokens[index], vowel_next, kept)
        accented = split_possessive(_straighten(tokens[index].text.lower()))[0]
        marked = not accented.isascii() and self._lexicon.entries(accented)
        if not form.homographs or marked:
            name = self._say_name(tokens[index], form, vowel_next, kept)
            plain = form.linked if vowel_next else form.paused
            return self._say_accented(tokens[index], name, vowel_next, kept) or name or plain
        spoken = tokens[index].spoken
        before, written, after = find_sentence(tokens, index)
        # "Wind-blown": the classifier sees what is said. The month in "8/16" and
        # "Aug." has a capital.
        tall = written[:1].isupper() or tokens[index].kind is TokenKind.NUMBER
        said_so = [word.capitalize() for word in spoken] if tall else spoken
        alone = is_alone(tokens, index)
        if alone:
            before, after = [], []
        seen = [*before, *((written,) if (written.lower(),) == spoken else said_so), *after]
        read = partial(self._homographs.read, seen, alone=alone)
        choices = {i: read(len(before) + i) for i in form.homographs}
        what = (spoken, tuple(choice.order for choice in choices.values()))
        said = self._say_once(
            kept,
            what,
            vowel_next,
            lambda: (
                self._choose(word, choices[i]) if i in choices else kept.words[word]
                for i, word in enumerate(spoken)
            ),
        )
        # The phones follow from the choice; how sure it is, from this sentence alone. What a
        # number or a short form stands for is sure: nobody wrote another word.
        reading = tuple(
            replace(
                word, confidence=choices[i].confidence if word.word in written.lower() else 1.0
            )
            if i in choices
            else word
            for i, word in enumerate(said.reading)
        )
        return Said(reading, said.sound)

    def _say_unslipped(self, token: Token, vowel_next: bool, kept: _Kept) -> Said:
        """A word with a capital that would be a slip without one: a name as it is written."""

        def say() -> Iterator[Pronunciation]:
            guess = self._knowledge.predict(token.spoken)[0]
            written = _straighten(token.text)
            yield self._judge_name(guess, written, written.lower())

        return self._say_once(kept, ("no slip", token.text, token.spoken), vowel_next, say)

    def _say_name(self, token: Token, form: _Form, vowel_next: bool, kept: _Kept) -> Said | None:
        """A name as the letters of its language have it; None for what is no open question."""
        written, _ = split_possessive(_straighten(token.text.lstrip("ʻ")))
        parts = written.split("-") if len(token.spoken) > 1 else [written]
        named = written[:1].isupper() and len(parts) == len(token.spoken)
        if not named or not (form.name or not written.isascii()):
            return None

        def say() -> Iterator[Pronunciation]:
            for i, (word, part) in enumerate(zip(token.spoken, parts, strict=True)):
                # What a part is beside a hyphen stands in the table with it: "jean-".
                mark = f"{'-' * (i > 0)}{part}{'-' * (i < len(parts) - 1)}".lower()
                found = kept.words[word]
                bare, possessive = split_possessive(word)
                if not possessive or found.origin is Origin.OVERRIDE:
                    yield self._judge_name(found, part, mark)
                    continue
                # It is said like the name that has it.
                base = self._resolve((bare,), kept)[bare]
                name = self._judge_name(base, part, mark)
                others = tuple(map(add_s, name.alternatives))
                said = replace(name, word=word, phones=add_s(name.phones), alternatives=others)
                yield said if name is not base or may_be_name(base) else found

        return self._say_once(kept, ("name", written, token.spoken), vowel_next, say)

    def _say_accented(
        self, token: Token, name: Said | None, vowel_next: bool, kept: _Kept
    ) -> Said | None:
        """A word whose diacritics tell how it is said, `name` being how it is said as a name;
        None where they tell nothing."""
        written, possessive = split_possessive(_straighten(token.text.lower()))
        if written.isascii() or len(token.spoken) != 1 or self._lexicon.is_corrected(written):
            return None
        found = kept.words[token.spoken[0]]
        base = next(filter(self._lexicon.entries, (written, _cut_s(written))), None)
        if base is not None:
            offers = self._lexicon.entries(base)
            if possessive or base != written:
                offers = tuple(map(add_s, offers))
        else:
            offers = (keep_diacritics(written, found.phones), *self._offers(found))
        told = base is not None or not (name or possessive or offers[0] == found.phones)
        if found.origin is Origin.OVERRIDE or not told:
            return None

        def say() -> Iterator[Pronunciation]:
            yield _rechoose(found, offers, Origin.DERIVED, AS_NAME, "with its accents")

        return self._say_once(kept, ("accents", token.text, token.spoken), vowel_next, say)

    def _judge_name(self, found: Pronunciation, written: str, beside: str) -> Pronunciation:
        accented = written.lower()
        if beside != accented and self._lexicon.is_corrected(beside):
            offers = self._lexicon.entries(beside)
            return _rechoose(found, offers, Origin.DICTIONARY, 1.0, "")
        # The second part of "Ha-eun" has no capital.
        tall = written[:1].isupper() or found.origin is Origin.PREDICTED
        if not tall or found.origin is Origin.OVERRIDE or found.word[-1:] == ".":
            return found
        if not may_be_name(found) and written.isascii():
            return found
        if not written.isascii() and self._lexicon.is_corrected(accented):
            first, *others = self._lexicon.entries(accented)
            return Pronunciation(found.word, first, Origin.DICTIONARY, 1.0, tuple(others))
        ours = any(map(self._lexicon.is_corrected, (found.word, _cut_s(found.word))))
        if ours and written.isascii():
            return found
        return judge_name(found, written, self._knowledge.names, ours=ours)

    def _choose(self, word: str, choice: HomographReading) -> Pronunciation:
        """The reading that context chose."""
        return Pronunciation(
            word,
            self._variants.localize_reading(word, choice.phones, self._accent),
            Origin.HOMOGRAPH,
            choice.confidence,
            choice.alternatives,
            choice.gloss,
        )


def _straighten(written: str) -> str:
    """A word with the apostrophe of a typewriter: a curved one is no accent."""
    return written.replace("’", "'")


def _is_slip(tokens: Sequence[Token], index: int, slip: Slip) -> bool:
    """Whether a word is written so that it can't be a name."""
    text = tokens[index].text
    if text.islower():
        return True
    starts = text[1:].islower() and not find_sentence(tokens, index)[0]
    return starts and slip.frequency >= COMMON_START


def _cut_s(word: str) -> str:
    """A word without the ending of a possessive or a plural."""
    name, possessive = split_possessive(word)
    return name if possessive else name.removesuffix("s")


def _rechoose(
    found: Pronunciation, offers: Sequence[Phones], origin: Origin, confidence: float, note: str
) -> Pronunciation:
    """The first offer, with the others to choose from."""
    first, *others = dict.fromkeys(offers)
    return Pronunciation(found.word, first, origin, confidence, tuple(others), note)


def _is_vowel_next(tokens: Sequence[Token], row: Sequence[_Form], index: int) -> bool:
    for i in range(index + 1, len(tokens)):
        if tokens[i].kind is not TokenKind.SPACE:
            return row[i].starts_with_vowel
    return False


def _cut_long(word: str) -> tuple[str, ...]:
    """The word itself, or pieces of one that is too long to be a word."""
    if len(word) <= MAX_LETTERS:
        return (word,)
    return tuple(word[i : i + MAX_LETTERS] for i in range(0, len(word), MAX_LETTERS))


def _join(word: str, parts: Sequence[str], guesses: Mapping[str, Pronunciation]) -> Pronunciation:
    phones = tuple(chain.from_iterable(guesses[part].phones for part in parts))
    return Pronunciation(
        word, phones, Origin.PREDICTED, 0.0, (), "too long for a word, guessed piece by piece"
    )


def find_sentence(tokens: Sequence[Token], index: int) -> tuple[list[str], str, list[str]]:
    """Words and marks around a token: those before it, itself, those after it.

    Reaches to the marks that end a sentence or to a blank line, and no
    farther than REACH tokens to each side.
    """
    before: list[str] = []
    for i in range(index - 1, max(index - REACH, 0) - 1, -1):
        token = tokens[i]
        if token.kind is TokenKind.SPACE:
            if token.text.count("\n") > 1:
                break
        elif token.kind is TokenKind.PUNCTUATION and token.text in _STOPS:
            break
        else:
            before.append(token.text)
    before.reverse()
    after: list[str] = []
    for i in range(index + 1, min(index + REACH, len(tokens))):
        token = tokens[i]
        if token.kind is TokenKind.SPACE:
            if token.text.count("\n") > 1:
                break
        else:
            after.append(token.text)
            if token.kind is TokenKind.PUNCTUATION and token.text in _STOPS:
                break
    return before, tokens[index].text, after


def is_alone(tokens: Sequence[Token], index: int) -> bool:
    """Whether a word stands in a list of words: its line has no other one, and there is no
    line beside it, or one of these has one word, too."""
    beside: list[int] = []
    for step in (-1, 1):
        words, end = _count_in_line(tokens, index, step)
        if words:
            return False
        if 0 <= end < len(tokens) and tokens[end].text.count("\n") == 1:
            beside.append(_count_in_line(tokens, end, step)[0])
    return not beside or 1 in beside


def _count_in_line(tokens: Sequence[Token], index: int, step: int) -> tuple[int, int]:
    """Words between a token and the end of its line in one direction, two at most, and the
    token that ends it."""
    words, at = 0, index + step
    while 0 <= at < len(tokens) and words < 2 and "\n" not in tokens[at].text:
        words += tokens[at].kind is TokenKind.WORD
        at += step
    return words, at
