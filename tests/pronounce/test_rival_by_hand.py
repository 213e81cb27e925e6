"""g2p_en's network, against a plain reading of its definition: two gated recurrent units (Cho et
al. 2014, gates in PyTorch's order), the likeliest phone at each step (Park & Kim 2019)."""

from __future__ import annotations

import importlib.util
import types
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drillgen.core.phones import PHONE_TABLE, format_phones, parse_phones
from drillgen.speech.pronounce import rival as module
from drillgen.speech.pronounce.rival import MOST_PHONES, WEIGHTS_FILE, Rival, RivalError


@pytest.fixture(scope="module")
def weights() -> dict[str, Any]:
    package = importlib.util.find_spec("g2p_en")
    assert package is not None
    folders = package.submodule_search_locations or [""]
    with np.load(Path(folders[0], WEIGHTS_FILE)) as saved:
        return {name: saved[name].astype(float) for name in saved}


def step(w: dict[str, Any], side: str, row: int, state: Any) -> Any:
    given = w[f"{side}_w_ih"] @ w[f"{side}_emb"][row] + w[f"{side}_b_ih"]
    own = w[f"{side}_w_hh"] @ state + w[f"{side}_b_hh"]
    size = len(state)
    reset, update = (1 / (1 + np.exp(-given[a : a + size] - own[a : a + size])) for a in (0, size))
    fresh = np.tanh(given[2 * size :] + reset * own[2 * size :])
    return (1 - update) * fresh + update * state


def read(w: dict[str, Any], word: str) -> str:
    """Letters: padding, unknown, end, a to z. Phones: padding, unknown, start, end, the others."""
    symbols = sorted({*PHONE_TABLE, "UW"})
    state = np.zeros(w["enc_w_hh"].shape[1])
    for letter in [*word, ""]:
        state = step(w, "enc", ord(letter) - ord("a") + 3 if letter else 2, state)
    said: list[str] = []
    last = 2
    for _ in range(20):
        state = step(w, "dec", last, state)
        last = int((w["fc_w"] @ state + w["fc_b"]).argmax())
        if last == 3:
            break
        said.append(symbols[last - 4])
    return " ".join("UW0" if symbol == "UW" else symbol for symbol in said)


WORDS = ("zaremba", "quay", "a", "unfathomable", "kwyjibo", "mnt", "harborside")


def test_it_is_what_its_weights_say(weights: dict[str, Any]) -> None:
    wanted = [read(weights, word) for word in WORDS]
    rival = Rival.load()
    assert [format_phones(said or ()) for said in rival.pronounce(WORDS)] == wanted
    assert [format_phones(rival.pronounce([word])[0] or ()) for word in WORDS] == wanted


def test_words_in_batches_and_in_their_order(weights: dict[str, Any]) -> None:
    rival = Rival.load()
    many = [WORDS[i % 7] + "abcdefghij"[i % 10] for i in range(150)]
    said = rival.pronounce(many)
    assert len(said) == 150
    assert said[149] == rival.pronounce([many[149]])[0]
    assert said[70] == parse_phones(read(weights, many[70]))
    assert rival.pronounce([]) == ()


def test_letters_that_it_knows() -> None:
    """a to z; accents and apostrophes are taken off."""
    rival = Rival.load()
    accent, mark, none, apostrophe = rival.pronounce(["Zárembá", "zar'emba", "東京", "'"])
    assert accent == mark == rival.pronounce(["zaremba"])[0]
    assert none is apostrophe is None


def test_a_word_has_so_many_phones_at_most(monkeypatch: pytest.MonkeyPatch) -> None:
    rival = Rival.load()
    (whole,) = rival.pronounce(["zaremba"])
    assert MOST_PHONES == 20
    monkeypatch.setattr(module, "MOST_PHONES", 3)
    assert whole is not None
    assert rival.pronounce(["zaremba"]) == (whole[:3],)


def test_a_package_that_is_not_as_we_know_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, weights: dict[str, Any]
) -> None:
    def install(folder: Path | None) -> None:
        spec = types.SimpleNamespace(submodule_search_locations=[str(folder)] if folder else None)
        monkeypatch.setattr(importlib.util, "find_spec", lambda _: spec)

    install(None)
    with pytest.raises(RivalError, match=r"^g2p_en is not installed$"):
        Rival.load()
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    with pytest.raises(RivalError, match=r"^g2p_en is not installed$"):
        Rival.load()
    install(tmp_path)
    with pytest.raises(RivalError, match=r"^g2p_en's network can't be used: .*No such file"):
        Rival.load()
    less = {name: array for name, array in weights.items() if name != "fc_w"}
    np.savez(tmp_path / WEIGHTS_FILE, **less)
    with pytest.raises(RivalError, match="can't be used"):
        Rival.load()
    for name in ("enc_emb", "dec_emb"):
        np.savez(tmp_path / WEIGHTS_FILE, **{**weights, name: weights[name][:-1]})
        with pytest.raises(RivalError, match="its tables have other sizes"):
            Rival.load()
