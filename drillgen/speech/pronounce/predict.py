"""Guess the pronunciation of a word from its spelling, and say how sure the guess is.

Three opinions are weighed: our own network (neural.py), with and without a
look at espeak-ng's rules; those rules alone (espeak.py); and g2p_en's network.
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

MOST_INFORMED: Final = 5
MOST_BLIND: Final = 4
"""As many readings of the network are weighed; doubt.py was fitted with these."""


# Weighing


class Opinions(NamedTuple):
    """What each member says of one word."""

    word: str
    informed: tuple[Guess, ...]
    """Our network, knowing espeak-ng's mnemonics; empty without espeak-ng."""

    blind: tuple[Guess, ...]
    """Our network, knowing the letters only."""

    espeak: Phones | None
    rival: Phones | None


class Weighed(NamedTuple):
    """A candidate: all readings that the full swap makes one."""

    skeleton: Skeleton
    readings: tuple[Phones, ...]
    score: float


CHOICE_FEATURES: Final = ("informed", "blind", "espeak", "top informed", "top blind")
RIVAL_FEATURES: Final = ("choice", "agrees", "differs")


class Weights(NamedTuple):
    """For the choice, for g2p_en's vote, and for the confidence."""

    choice: tuple[float, ...]
    rival: tuple[float, ...]
    doubt: Doubt

    @classmethod
    def load(cls, *, espeak: bool) -> Weights:
        """The weights with or without espeak-ng, from the tables of the installation."""
        situation = "espeak" if espeak else "alone"
        rows = {
            (group, name): float(value)
            for here, group, name, value in read_table("predict_weights.tsv")
            if here == situation
        }
        return cls(
            tuple(rows["choice", name] for name in CHOICE_FEATURES),
            tuple(rows["rival", name] for name in RIVAL_FEATURES),
            Doubt.load(espeak=espeak),
        )


def _log_share(shares: Mapping[Skeleton, float], skeleton: Skeleton | None) -> float:
    return log((shares.get(skeleton, 0.0) if skeleton is not None else 0.0) + 1e-4)


def _dot(weights: Sequence[float], features: Sequence[float]) -> float:
    return sum(w * x for w, x in zip(weights, features, strict=True))


def list_candidates(opinions: Opinions) -> dict[Skeleton, tuple[float, ...]]:
    """Every candidate with what CHOICE_FEATURES says of it."""
    informed, blind = share_chances(opinions.informed), share_chances(opinions.blind)
    spoken = swap_skeleton(opinions.espeak) if opinions.espeak else None
    other = swap_skeleton(opinions.rival) if opinions.rival else None
    tops = [max(shares, key=shares.__getitem__, default=None) for shares in (informed, blind)]
    names = [
        *sorted(informed, key=informed.__getitem__, reverse=True)[:4],
        *sorted(blind, key=blind.__getitem__, reverse=True)[:3],
        *(s for s in (spoken, other) if s is not None),
    ]
    return {
        skeleton: (
            _log_share(informed, skeleton),
            _log_share(blind, skeleton),
            float(skeleton == spoken),
            float(skeleton == tops[0]),
            float(skeleton == tops[1]),
        )
        for skeleton in dict.fromkeys(names)
    }


def rank(
    opinions: Opinions, weights: Weights
) -> tuple[tuple[tuple[Skeleton, float], ...], Case | None]:
    """The candidates and their scores, best first, and what doubt.py must judge."""
    other = swap_skeleton(opinions.rival) if opinions.rival else None
    plain = {
        skeleton: _dot(weights.choice, features)
        for skeleton, features in list_candidates(opinions).items()
    }
    scores = {s: x + weights.rival[0] * (s == other) for s, x in plain.items()}
    ranked = sorted(scores, key=scores.__getitem__, reverse=True)
    if not ranked:
        return (), None
    # The confidence was fitted without g2p_en's vote, so it sees the scores without it.
    rest = sorted(ranked[1:], key=plain.__getitem__, reverse=True)
    case = Case(
        opinions.word,
        opinions.informed,
        opinions.blind,
        opinions.espeak,
        tuple((s, plain[s]) for s in (ranked[0], *rest)),
    )
    return tuple((s, scores[s]) for s in ranked), case


def weigh(
    opinions: Sequence[Opinions], weights: Weights
) -> list[tuple[tuple[Weighed, ...], float]]:
    """Per word the candidates, best first, and the chance (0 to 1) that the first is right."""
    ranks = [rank(one, weights) for one in opinions]
    judged = iter(weights.doubt.judge([case for _, case in ranks if case is not None]))
    result: list[tuple[tuple[Weighed, ...], float]] = []
    for one, (ranked, case) in zip(opinions, ranks, strict=True):
        if case is None:
            result.append(((), 0.0))
            continue
        sureness = next(judged)
        if one.rival:
            agrees = swap_skeleton(one.rival) == ranked[0][0]
            sureness += weights.rival[1] if agrees else weights.rival[2]
        readings = _readings(one)
        candidates = tuple(Weighed(s, tuple(readings[s]), score) for s, score in ranked)
        result.append((candidates, 1.0 / (1.0 + exp(-sureness))))
    return result


def _readings(opinions: Opinions) -> dict[Skeleton, list[Phones]]:
    """The readings of each candidate, the likeliest first."""
    readings: dict[Skeleton, list[Phones]] = {}
    everything = [
        *(guess.phones for guess in opinions.informed),
        *(guess.phones for guess in opinions.blind),
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

    >>> from drillgen.core.phones import format_phones
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
        informed: Sequence[tuple[Guess, ...]] = [()] * len(words)
        if self._espeak is not None:
            mnemonics = [self._espeak.mnemonics(word) for word in words]
            informed = self._network.guess(words, mnemonics)
        blind = self._network.guess(words, [()] * len(words))
        rival: Sequence[Phones | None] = [None] * len(words)
        if self._rival is not None:
            rival = self._rival.pronounce(words)
        return tuple(
            Opinions(
                word,
                informed[i][:MOST_INFORMED],
                blind[i][:MOST_BLIND],
                convert_mnemonics(mnemonics[i]) if mnemonics[i] else None,
                rival[i],
            )
            for i, word in enumerate(words)
        )

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
