"""Guess the pronunciation of a word from its spelling, and say how sure the guess is.

Four opinions are weighed: our own network (neural.py) in the habits of
Wiktionary and in those of CMUdict; espeak-ng's rules (espeak.py); and g2p_en's
network (rival.py).
Candidates that the full swap would not tell apart count as one. How sure the
choice is, doubt.py says. The weights are fitted by tools/fit_predictor.py on
words that the guessing network has not learnt; bench/holdout.py measures the
result on others.
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping, Sequence
from math import exp, log
from typing import Final, NamedTuple

from drillgen.core.resources import read_table
from drillgen.core.values import Origin, Phone, Phones, Pronunciation
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.doubt import Case, Doubt, Skeleton, share_chances
from drillgen.speech.pronounce.espeak import Espeak, EspeakError, convert_mnemonics
from drillgen.speech.pronounce.neural import Guess, Network
from drillgen.speech.pronounce.rival import Rival, RivalError

MAX_ALTERNATIVES: Final = 4
LEAST_CHANCE: Final = 0.02
"""Alternatives with a smaller chance are not offered."""

MOST_USUAL: Final = 5
MOST_LISTED: Final = 4
"""As many readings of the network are weighed; doubt.py was fitted with these."""


# Weighing


class Opinions(NamedTuple):
    """What each member says of one word."""

    word: str
    usual: tuple[Guess, ...]
    """Our network in Wiktionary's habits."""

    listed: tuple[Guess, ...]
    """Our network in CMUdict's habits; those of `usual` where the word is settled."""

    espeak: Phones | None
    rival: Phones | None


class Weighed(NamedTuple):
    """A candidate: all readings that the full swap makes one."""

    skeleton: Skeleton
    readings: tuple[Phones, ...]
    score: float


CHOICE_FEATURES: Final = ("usual", "listed", "espeak", "rival", "top usual", "top listed")


class Weights(NamedTuple):
    """For the choice, and for the confidence."""

    choice: tuple[float, ...]
    doubt: Doubt

    @classmethod
    def load(cls, *, espeak: bool) -> Weights:
        """The weights with or without espeak-ng, from the tables of the installation."""
        situation = "espeak" if espeak else "alone"
        rows = {
            name: float(value)
            for here, name, value in read_table("predict_weights.tsv")
            if here == situation
        }
        return cls(tuple(map(rows.__getitem__, CHOICE_FEATURES)), Doubt.load(espeak=espeak))


SETTLED: Final = 0.4
"""A first choice so likely, with which espeak-ng agrees, stands for our network in both habits: 57
to 74 of 100 words of bench/holdout.py. No other reading is chosen. Of outside words 0.576 of the
wrong ones are marked for review and 0.111 of the right ones, 0.572 and 0.111 with the second look
at each; of held-out families, without g2p_en, 0.746 and 0.223, before 0.767 and 0.224."""


def _is_settled(usual: Sequence[Guess], espeak: Phones | None) -> bool:
    if not usual or not espeak:
        return False
    shares = share_chances(usual)
    return shares.get(swap_skeleton(espeak), 0.0) == max(shares.values()) >= SETTLED


def _log_share(shares: Mapping[Skeleton, float], skeleton: Skeleton | None) -> float:
    return log((shares.get(skeleton, 0.0) if skeleton is not None else 0.0) + 1e-4)


def _dot(weights: Sequence[float], features: Sequence[float]) -> float:
    return sum(w * x for w, x in zip(weights, features, strict=True))


def list_candidates(opinions: Opinions) -> dict[Skeleton, tuple[float, ...]]:
    """Every candidate with what CHOICE_FEATURES says of it."""
    usual, listed = share_chances(opinions.usual), share_chances(opinions.listed)
    spoken = swap_skeleton(opinions.espeak) if opinions.espeak else None
    other = swap_skeleton(opinions.rival) if opinions.rival else None
    tops = [max(shares, key=shares.__getitem__, default=None) for shares in (usual, listed)]
    names = [
        *sorted(usual, key=usual.__getitem__, reverse=True)[:4],
        *sorted(listed, key=listed.__getitem__, reverse=True)[:3],
        *(s for s in (spoken, other) if s is not None),
    ]
    return {
        skeleton: (
            _log_share(usual, skeleton),
            _log_share(listed, skeleton),
            float(skeleton == spoken),
            float(skeleton == other),
            float(skeleton == tops[0]),
            float(skeleton == tops[1]),
        )
        for skeleton in dict.fromkeys(names)
    }


def rank(opinions: Opinions, weights: Weights) -> Case | None:
    """The candidates, best first, as doubt.py judges them; None where there are none."""
    scores = {
        skeleton: _dot(weights.choice, features)
        for skeleton, features in list_candidates(opinions).items()
    }
    ranked = tuple(sorted(scores.items(), key=lambda item: -item[1]))
    return Case(*opinions, ranked) if ranked else None


def weigh(
    opinions: Sequence[Opinions], weights: Weights
) -> list[tuple[tuple[Weighed, ...], float]]:
    """Per word the candidates, best first, and the chance (0 to 1) that the first is right."""
    cases = [rank(one, weights) for one in opinions]
    judged = iter(weights.doubt.judge([case for case in cases if case is not None]))
    result: list[tuple[tuple[Weighed, ...], float]] = []
    for one, case in zip(opinions, cases, strict=True):
        if case is None:
            result.append(((), 0.0))
            continue
        readings = _readings(one)
        candidates = tuple(Weighed(s, tuple(readings[s]), score) for s, score in case.ranked)
        result.append((candidates, 1.0 / (1.0 + exp(-next(judged)))))
    return result


def _readings(opinions: Opinions) -> dict[Skeleton, list[Phones]]:
    """The readings of each candidate, the likeliest first."""
    readings: dict[Skeleton, list[Phones]] = {}
    everything = [
        *(guess.phones for guess in opinions.usual),
        *(guess.phones for guess in opinions.listed),
        *(phones for phones in (opinions.espeak, opinions.rival) if phones),
    ]
    for phones in everything:
        known = readings.setdefault(swap_skeleton(phones), [])
        if phones not in known:
            known.append(phones)
    return readings


def settle_stress(phones: Phones) -> Phones:
    """Give a word with vowels exactly one main stress.

    Without one, it goes on the secondary stress, or else the first vowel;
    of several, the first stays and the others become secondary.

    >>> from drillgen.core.phones import format_phones, parse_phones
    >>> format_phones(settle_stress(parse_phones("B AH0 N AE2 N AH0")))
    'B AH0 N AE1 N AH0'
    >>> format_phones(settle_stress(parse_phones("P AO1 R TH K UH1 R N OW0")))
    'P AO1 R TH K UH2 R N OW0'
    """
    stresses = [phone.stress for phone in phones]
    wanted = next((degree for degree in (1, 2, 0) if degree in stresses), None)
    if wanted is None:
        return phones
    place = stresses.index(wanted)
    return tuple(
        Phone(phone.symbol, 1)
        if i == place
        else (Phone(phone.symbol, 2) if phone.stress == 1 else phone)
        for i, phone in enumerate(phones)
    )


# The predictor


class Predictor:
    """Guesses pronunciations. Reads its weights when it is made, and nothing later."""

    def __init__(
        self,
        network: Network,
        espeak: Espeak | None,
        rival: Rival | None,
        weights: Weights | None = None,
    ) -> None:
        self._network = network
        self._espeak = espeak
        self._rival = rival
        self._weights = weights or Weights.load(espeak=espeak is not None)

    @classmethod
    def load(cls) -> Predictor:
        """The predictor of the installation.

        Where espeak-ng or g2p_en can't be used on this machine there is one
        warning, and the predictor goes on without it and is less sure.
        """
        espeak, rival = None, None
        try:
            espeak = Espeak.load()
        except EspeakError as error:
            warnings.warn(f"{error}; unknown words are guessed without it", stacklevel=2)
        try:
            rival = Rival.load()
        except RivalError as error:
            warnings.warn(f"{error}; unknown words are guessed without it", stacklevel=2)
        return cls(Network.load(), espeak, rival)

    def ask(self, words: Sequence[str]) -> tuple[Opinions, ...]:
        """What each member says of each word. No word may have a hyphen."""
        mnemonics: list[tuple[str, ...]] = [()] * len(words)
        if self._espeak is not None:
            mnemonics = [self._espeak.mnemonics(word) for word in words]
        spoken = [convert_mnemonics(said) if said else None for said in mnemonics]
        usual = [said[:MOST_USUAL] for said in self._network.guess(words, mnemonics)]
        listed = [said[:MOST_LISTED] for said in usual]
        # The network's second look takes as long as the first: only where it may matter.
        open_ = [i for i, said in enumerate(usual) if not _is_settled(said, spoken[i])]
        again = self._network.guess([words[i] for i in open_], [mnemonics[i] for i in open_], "C")
        for i, said in zip(open_, again, strict=True):
            listed[i] = said[:MOST_LISTED]
        rival: Sequence[Phones | None] = [None] * len(words)
        if self._rival is not None:
            rival = self._rival.pronounce(words)
        return tuple(map(Opinions, words, usual, listed, spoken, rival))

    def predict(self, words: Sequence[str]) -> tuple[Pronunciation, ...]:
        """Guess each word (lower case). Parts joined by hyphens are guessed one by one.

        `confidence` is the estimated chance that consonants and vowel places are
        right. `alternatives` offers first what differs after the full swap.
        """
        pieces = [tuple(p for p in word.split("-") if p) or (word,) for word in words]
        distinct = tuple(dict.fromkeys(piece for row in pieces for piece in row))
        guesses = {guess.word: guess for guess in self.decide(self.ask(distinct))}
        return tuple(
            self._join(word, row, guesses) for word, row in zip(words, pieces, strict=True)
        )

    def _join(
        self, word: str, pieces: tuple[str, ...], guesses: Mapping[str, Pronunciation]
    ) -> Pronunciation:
        if pieces == (word,):
            return guesses[word]
        phones: Phones = ()
        confidence = 1.0
        for piece in pieces:
            phones += guesses[piece].phones
            confidence *= guesses[piece].confidence
        return Pronunciation(
            word,
            settle_stress(phones),
            Origin.PREDICTED,
            round(confidence, 3),
            (),
            "guessed part by part",
        )

    def decide(self, opinions: Sequence[Opinions]) -> list[Pronunciation]:
        """Weigh the opinions on each word."""
        judged = weigh(opinions, self._weights)
        return [self._settle(one, *found) for one, found in zip(opinions, judged, strict=True)]

    def _settle(
        self, opinions: Opinions, ranked: tuple[Weighed, ...], chance: float
    ) -> Pronunciation:
        if not ranked:
            # No letter of ours and espeak-ng is silent: something must be said.
            return Pronunciation(
                opinions.word,
                (Phone("AH", 1),),
                Origin.PREDICTED,
                0.0,
                (),
                "not in letters that we can read",
            )
        best = ranked[0]
        others = [
            candidate.readings[0]
            for candidate in ranked[1:]
            if exp(candidate.score - best.score) > LEAST_CHANCE
        ]
        alternatives = [*others[:MAX_ALTERNATIVES], *best.readings[1:3]]
        phones = settle_stress(best.readings[0])
        settled = dict.fromkeys(map(settle_stress, alternatives))
        return Pronunciation(
            opinions.word,
            phones,
            Origin.PREDICTED,
            round(chance, 3),
            tuple(other for other in settled if other != phones),
            self._explain(opinions, best.skeleton),
        )

    def _explain(self, opinions: Opinions, chosen: Skeleton) -> str:
        """Who agrees, in plain words."""
        votes = [p for p in (opinions.espeak, opinions.rival) if p]
        same = sum(swap_skeleton(p) == chosen for p in votes)
        if not votes:
            return "guessed from the spelling"
        if same == len(votes):
            return "guessed from the spelling; all guesses agree"
        return "guessed from the spelling; the guesses differ"
