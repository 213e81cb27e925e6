"""The part-of-speech tagger.

Tags are those of the Penn Treebank (Marcus, Santorini and Marcinkiewicz 1993)
as the Universal Dependencies English Web Treebank (Silveira et al. 2014, A
gold standard dependency corpus for English) uses them.
"""

from __future__ import annotations

import gzip
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from train_tagger import pack_weights

from drillgen.core.resources import data_file
from drillgen.speech.prosody.tagger import (
    WEIGHTS,
    Tagger,
    new_perceptron,
    unpack_weights,
)

ROOT = Path(__file__).parents[2]
TABLE = Path(__file__).parent / "data" / "tagged_sentences.tsv"


@cache
def load_tagger() -> Tagger:
    return Tagger.load()


def find_treebank() -> Path | None:
    """The development part, which is not in the repository."""
    named = os.environ.get("DRILLGEN_DATA")
    for folder in ([Path(named)] if named else []) + [ROOT.parent / "shared" / "data"]:
        path = folder / "pos" / "en_ewt-ud-dev.conllu"
        if path.is_file():
            return path
    return None


def read_table() -> list[tuple[list[str], list[str]]]:
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    pairs = [line.split("\t") for line in lines if not line.startswith("#")]
    return [(words.split(), tags.split()) for words, tags in pairs]


def test_sentences_of_our_own() -> None:
    """At least 0.94 of the tags of a hand-made table are right."""
    right = total = 0
    for words, gold in read_table():
        assert len(words) == len(gold)
        right += sum(a == b for a, b in zip(load_tagger().tag(words), gold, strict=True))
        total += len(gold)
    assert total > 100
    assert right / total >= 0.94


def test_development_part() -> None:
    """At least 0.94 on the development part of the English Web Treebank (XPOS)."""
    path = find_treebank()
    if path is None:
        pytest.skip("the treebank is not here; set DRILLGEN_DATA to the folder that has pos/")
    right = total = 0
    for block in path.read_text(encoding="utf-8").strip().split("\n\n"):
        rows = [line.split("\t") for line in block.split("\n") if not line.startswith("# ")]
        rows = [row for row in rows if row[0].isdigit()]
        tags = load_tagger().tag([row[1] for row in rows])
        right += sum(tag == row[4] for tag, row in zip(tags, rows, strict=True))
        total += len(rows)
    assert total > 25_000
    assert right / total >= 0.94


@pytest.mark.parametrize(
    ("sentence", "place", "tag"),
    [
        ("I will record my voice .", 2, "VB"),
        ("Put on the record .", 3, "NN"),
        ("They refuse to go .", 1, "VBP"),
        ("She has read it .", 2, "VBN"),
        ("Pellow Quay is small .", 0, "NNP"),
    ],
)
def test_words_of_two_classes(sentence: str, place: int, tag: str) -> None:
    assert load_tagger().tag(sentence.split())[place] == tag


def test_odd_input() -> None:
    assert load_tagger().tag([]) == ()
    assert len(load_tagger().tag(["", "-", "!", "‿", "Zürich", "1987", "7th", "x-ray"])) == 8


def test_weights_are_small_and_stable() -> None:
    """Under 3 MB, no date in the file, and packing again gives the same bytes."""
    packed = data_file(WEIGHTS).read_bytes()
    assert len(packed) < 3_000_000
    assert packed[4:8] == b"\0\0\0\0"
    first, _, *lines = gzip.decompress(packed).decode("utf-8").split("\n")
    assert first.split("\t") == sorted(first.split("\t"))
    features = [line.split("\t")[0] for line in lines if line]
    assert len(features) > 10_000
    assert features == sorted(features)


def test_train_pack_unpack() -> None:
    """A tagger trained on two sentences tags the same after packing."""
    perceptron = new_perceptron()
    perceptron.train(
        [[("boats", "NNS"), ("sail", "VBP")], [("the", "DT"), ("sail", "NN")]], nr_iter=5
    )
    copy = unpack_weights(pack_weights(perceptron))
    for words in (["boats", "sail"], ["the", "sail"], ["sail"]):
        assert Tagger(copy).tag(words) == Tagger(perceptron).tag(words)
    assert pack_weights(copy) == pack_weights(perceptron)


OFFLINE = """
import socket

def refuse(*args, **kwargs):
    raise OSError("no network in this test")

socket.socket.connect = refuse
socket.create_connection = refuse
socket.getaddrinfo = refuse
import nltk
nltk.download = refuse
nltk.data.path[:] = []
from drillgen.speech.prosody.tagger import Tagger
print(" ".join(Tagger.load().tag("The boats are small .".split())))
"""


def test_without_network_or_nltk_data(tmp_path: Path) -> None:
    """Nothing is fetched and none of nltk's own data is needed."""
    environment = {**os.environ, "NLTK_DATA": str(tmp_path), "HOME": str(tmp_path)}
    done = subprocess.run(
        [sys.executable, "-c", OFFLINE],
        capture_output=True,
        text=True,
        env=environment,
        check=False,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split() == ["DT", "NNS", "VBP", "JJ", "."]
    assert list(tmp_path.iterdir()) == []


def test_nltk_is_imported_late() -> None:
    """Importing the module costs nothing."""
    code = "import sys, drillgen.speech.prosody.tagger; sys.exit('nltk' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
