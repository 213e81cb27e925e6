"""g2p_en's letter-to-phoneme network (Park & Kim 2019), run by our own layers.

The package ships the weights of a GRU encoder and a GRU decoder; they are read from its file.
Importing the package itself would ask nltk to download data.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from drillgen.core.phones import PHONE_TABLE
from drillgen.core.values import Phones
from drillgen.speech.pronounce.layers import GruCell, Linear
from drillgen.speech.pronounce.lexicon import spell_plainly

if TYPE_CHECKING:
    from drillgen.speech.pronounce.layers import Array

WEIGHTS_FILE: Final = "checkpoint20.npz"
BATCH: Final = 64
MOST_PHONES: Final = 20
"""So many the package's own decoder says at most."""

_END_OF_WORD: Final = 2
_FIRST_LETTER: Final = 3
"""Rows of the letters' table: padding, unknown, end, a to z."""

_START: Final = 2
_END: Final = 3
_SYMBOLS: Final = ("", "", "", "", *sorted((*PHONE_TABLE, "UW")))
"""Rows of the phones' table: padding, unknown, start, end, CMUdict's symbols by the alphabet.
A UW without a digit is among them."""


class RivalError(Exception):
    """g2p_en's predictor can't be had."""


class Rival:
    """The network of g2p_en."""

    def __init__(self, weights: Mapping[str, Array]) -> None:
        self._encode = GruCell(weights["enc_w_hh"], weights["enc_b_hh"])
        self._decode = GruCell(weights["dec_w_hh"], weights["dec_b_hh"])
        # What each letter and each phone adds to the gates, once and for all.
        self._letters, self._phones = (
            Linear(weights[f"{side}_w_ih"], weights[f"{side}_b_ih"])(weights[f"{side}_emb"])
            for side in ("enc", "dec")
        )
        self._head = Linear(weights["fc_w"], weights["fc_b"])
        if (len(self._letters), len(self._phones)) != (29, len(_SYMBOLS)):
            raise ValueError("its tables have other sizes")

    @classmethod
    def load(cls) -> Rival:
        """Read the weights. RivalError if the package is not as we know it."""
        try:
            package = importlib.util.find_spec("g2p_en")
            folders = package.submodule_search_locations if package is not None else None
            if not folders:
                raise RivalError("g2p_en is not installed")
            with np.load(Path(folders[0], WEIGHTS_FILE)) as weights:
                return cls(dict(weights))
        except (OSError, KeyError, ValueError) as error:
            raise RivalError(f"g2p_en's network can't be used: {error}") from error

    def pronounce(self, words: Sequence[str]) -> tuple[Phones | None, ...]:
        """Words in ARPAbet; None where the network gives nothing that is a phone."""
        plain = [spell_plainly(word).replace("'", "") for word in words]
        order = sorted(
            (i for i, letters in enumerate(plain) if letters), key=lambda i: -len(plain[i])
        )
        result: list[Phones | None] = [None] * len(words)
        for at in range(0, len(order), BATCH):
            some = order[at : at + BATCH]
            for i, said in zip(some, self._say([plain[i] for i in some]), strict=True):
                symbols = [_SYMBOLS[row] for row in said]
                if symbols and all(symbols):
                    result[i] = tuple(PHONE_TABLE[s if s != "UW" else "UW0"] for s in symbols)
        return tuple(result)

    def _say(self, words: Sequence[str]) -> list[list[int]]:
        """Rows of the phones of each word, longest words first."""
        lengths = np.array([len(word) + 1 for word in words])
        codes = np.full((len(words), lengths[0]), _END_OF_WORD)
        for row, word in zip(codes, words, strict=True):
            row[: len(word)] = [ord(letter) - ord("a") + _FIRST_LETTER for letter in word]
        state = np.zeros((len(words), self._encode.hidden), np.float32)
        for i in range(lengths[0]):
            here = slice(int(np.count_nonzero(lengths > i)))
            state[here] = self._encode(self._letters[codes[here, i]], state[here])
        said: list[list[int]] = [[] for _ in words]
        alive = np.arange(len(words))
        last = np.full(len(words), _START)
        for _ in range(MOST_PHONES):
            state = self._decode(self._phones[last], state)
            last = self._head(state).argmax(axis=1)
            going = last != _END
            alive, last, state = alive[going], last[going], state[going]
            for i, row in zip(alive.tolist(), last.tolist(), strict=True):
                said[i].append(row)
            if not len(alive):
                break
        return said
