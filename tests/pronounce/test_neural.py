"""The letter-to-phoneme network, against a plain reading of its definition.

The reference below reads one word, one head and one letter at a time in double precision, as
Vaswani et al. (2017), Shaw et al. (2018, relative positions; ours are a bias a head), Cho et
al. (2014) and Wu & Cotterell (2019) define the parts, and knows only the weights' file.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pytest

from drillgen.core.phones import PHONE_TABLE, format_phones
from drillgen.core.resources import data_file
from drillgen.core.values import Phones
from drillgen.speech.pronounce.espeak import Espeak, strip_stress
from drillgen.speech.pronounce.neural import (
    BEAM,
    MAX_LETTERS,
    MAX_MNEMONICS,
    MODEL_FILE,
    Guess,
    Network,
    _say,
)

Weights = Mapping[str, Any]


@pytest.fixture(scope="module")
def weights() -> Weights:
    with np.load(data_file(MODEL_FILE)) as saved:
        return {
            name: saved[name].astype(float) if saved[name].dtype.kind == "f" else saved[name]
            for name in saved
        }


@pytest.fixture(scope="module")
def network() -> Network:
    return Network.load()


def scale_rows(x: Any, weight: Any, bias: Any) -> Any:
    mean, spread = x.mean(1, keepdims=True), x.var(1, keepdims=True)
    return (x - mean) / np.sqrt(spread + 1e-5) * weight + bias


def encode(w: Weights, word: str, mnemonics: Sequence[str], source: str) -> Any:
    """A row for each letter."""
    _, heads, layers, _, _, reach = w["shape"]
    letters, sources = list(w["letters"]), list(w["sources"])
    rows = [1, *(letters.index(letter) + 3 for letter in word), 2]
    x = w["letters.weight"][rows]
    x[0] += w["sources.weight"][sources.index(source)]
    known = list(w["mnemonics"])
    marks = [0]
    for mnemonic in mnemonics:
        bare, stress = strip_stress(mnemonic)
        marks.append(1 + 3 * (known.index(bare) + 1 if bare in known else 0) + stress)
    marks.append(0)
    for layer in range(layers):
        b = {
            name.removeprefix(f"blocks.{layer}."): value
            for name, value in w.items()
            if name.startswith(f"blocks.{layer}.")
        }
        y = scale_rows(x, b["norm1.weight"], b["norm1.bias"])
        q, k, v = np.split(y @ b["qkv.weight"].T + b["qkv.bias"], 3, axis=1)
        places = list(range(len(x)))
        for i in range(1, len(marks) - 1):
            seen = sum(b[f"marks.{n}.weight"][marks[i + d]] for n, d in enumerate((0, -1, 1)))
            key, value = np.split(seen, 2)
            k, v = np.vstack([k, key]), np.vstack([v, value])
            places.append(i)
        mixed = np.zeros_like(x)
        size = x.shape[1] // heads
        for head in range(heads):
            part = slice(head * size, (head + 1) * size)
            for at in range(len(x)):
                scores = k[:, part] @ q[at, part] / math.sqrt(size)
                for j, place in enumerate(places):
                    far = min(max(at - place, -reach), reach) + reach
                    scores[j] += b["bias"][far + (2 * reach + 1) * (j >= len(x)), head]
                chances = np.exp(scores - scores.max())
                mixed[at, part] = chances @ v[:, part] / chances.sum()
        x = x + mixed @ b["out.weight"].T + b["out.bias"]
        inner = scale_rows(x, b["norm2.weight"], b["norm2.bias"]) @ b["up.weight"].T
        x = x + np.maximum(inner + b["up.bias"], 0) @ b["down.weight"].T + b["down.bias"]
    return scale_rows(x, w["norm.weight"], w["norm.bias"])[1:-1]


def step(w: Weights, x: Any, last: int, state: Any) -> Any:
    given = np.concatenate([x, w["previous.weight"][last]])
    mine = np.split(w["gru.weight_ih_l0"] @ given + w["gru.bias_ih_l0"], 3)
    own = np.split(w["gru.weight_hh_l0"] @ state + w["gru.bias_hh_l0"], 3)
    reset, update = (1 / (1 + np.exp(-(a + b))) for a, b in zip(mine[:2], own[:2], strict=True))
    return (1 - update) * np.tanh(mine[2] + reset * own[2]) + update * state


def read(
    w: Weights, word: str, mnemonics: Sequence[str], source: str, beam: int
) -> dict[Phones, float]:
    """Readings of a word with their chances."""
    encoded, labels = encode(w, word, mnemonics, source), [str(label) for label in w["labels"]]
    letters = list(w["letters"])
    paths: list[tuple[float, tuple[int, ...], Any]] = [(0.0, (), np.zeros(w["shape"][4]))]
    for letter, x in zip(word, encoded, strict=True):
        longer: list[tuple[float, tuple[int, ...], Any]] = []
        for total, path, state in paths:
            state = step(w, x, path[-1] if path else len(labels), state)
            scores = w["head.weight"] @ np.concatenate([state, x]) + w["head.bias"]
            scores -= scores.max() + math.log(np.exp(scores - scores.max()).sum())
            allowed = w["allowed"][letters.index(letter)]
            longer += [
                (total + score - (0 if ok else 10_000), (*path, row), state)
                for row, (score, ok) in enumerate(zip(scores, allowed, strict=True))
            ]
        paths = sorted(longer, key=lambda item: -item[0])[:beam]
    stresses = encoded @ w["stress.weight"].T + w["stress.bias"]
    found: dict[Phones, float] = {}
    for total, path, _ in paths:
        phones = put_stress([labels[label] for label in path], stresses)
        if phones:
            found[phones] = found.get(phones, 0.0) + math.exp(total)
    return found


def put_stress(said: Sequence[str], stresses: Any) -> Phones:
    """One main stress, on the letter whose odds of it are best; a lesser one where it is
    likelier than none; on the first vowel of a letter's phones."""
    vowels = [
        i for i, label in enumerate(said) if any(f"{s}1" in PHONE_TABLE for s in label.split())
    ]
    main = max(vowels, key=lambda i: stresses[i][1] - stresses[i][0], default=None)
    phones = []
    for i, label in enumerate(said):
        degree = 1 if i == main else 2 if stresses[i][2] > stresses[i][0] else 0
        for symbol in label.split() if label != "_" else ():
            if f"{symbol}1" in PHONE_TABLE:
                phones.append(PHONE_TABLE[f"{symbol}{degree}"])
                degree = 0
            else:
                phones.append(PHONE_TABLE[symbol])
    return tuple(phones)


CASES = [
    ("xerxes", "", "U"),
    ("quilliogs", "k w 'I l i oU g z", "U"),
    # Longer than the farthest relative position; a word without a vowel; marks not known.
    ("unfathomablenessly", "VV n f 'a D @ m @ b @ l n @ s l i", "C"),
    ("zabrowski's", "z a b r 'oU s k I z", "B"),
    ("mnt", "", "C"),
    ("ioffe", "aI 'O f i", "M"),
    # A lesser stress before the main one; phones with two vowels in one letter.
    ("evangelina", "", "U"),
    ("ioan", "", "U"),
]


@pytest.mark.parametrize(("word", "mnemonics", "source"), CASES)
def test_readings_are_those_of_the_definition(
    network: Network, weights: Weights, word: str, mnemonics: str, source: str
) -> None:
    for beam in (1, BEAM):
        (guesses,) = network.guess([word], [mnemonics.split()], source, beam)
        wanted = read(weights, word, mnemonics.split(), source, beam)
        assert {guess.phones for guess in guesses} == set(wanted)
        for guess in guesses:
            assert guess.log_probability == pytest.approx(math.log(wanted[guess.phones]), abs=0.01)
        chances = [guess.log_probability for guess in guesses]
        assert chances == sorted(chances, reverse=True)


def test_words_of_all_shapes_together(network: Network) -> None:
    """Alone, in company, and in more than one batch: to the last bit."""
    words = [word for word, _, _ in CASES] * 12
    marks = [mnemonics.split() for _, mnemonics, _ in CASES] * 12
    alone = [network.guess([w], [m])[0] for w, m in zip(words[:8], marks[:8], strict=True)]
    assert list(network.guess(words, marks)) == alone * 12


def test_what_is_too_long_is_cut(network: Network) -> None:
    word, said = "ba" * MAX_LETTERS, ["b", "a"] * MAX_MNEMONICS
    long, cut = network.guess([word, word[:MAX_LETTERS]], [said, said[:MAX_MNEMONICS]])
    assert long == cut
    assert sum(phone.symbol == "B" for phone in long[0].phones) == MAX_LETTERS // 2 == 20
    (one, two) = network.guess([word[:39], word[:40]], [said[:48], said[:48]])
    assert one != two
    (one, two) = network.guess(["babab"] * 2, [said[:47], said[:48]])
    assert one != two


def test_words_without_letters_have_no_reading(network: Network) -> None:
    said: tuple[tuple[Guess, ...], ...] = network.guess(["東京", "tide", "'"], [(), (), ()])
    assert said[0] == said[2] == ()
    assert said[1] == network.guess(["Tide"], [()])[0]
    assert network.guess([], []) == ()


def test_the_stress_of_a_letter_is_on_its_first_vowel() -> None:
    assert format_phones(_say(("AE", "K", "AH"), 1)) == "AE1 K AH0"
    assert format_phones(_say(("S", "IY", "EH"), 2)) == "S IY2 EH0"
    assert _say((), 1) == ()


def test_stress_of_espeak_is_seen(network: Network) -> None:
    """What the network is told of stress changes what it says."""
    said = network.guess(
        ["perafit"] * 2,
        [("p", "'E", "r", "I", "f", "I", "t"), ("p", "E", "r", "I", "f", "'I", "t")],
    )
    assert said[0] != said[1]
    assert len(Espeak.load().mnemonics("perafit")) > 4
