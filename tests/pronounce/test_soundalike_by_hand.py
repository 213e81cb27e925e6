"""Sound-alikes: the key, letter by letter, and where stress is likely."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Phones
from drillgen.speech.pronounce.overrides import no_lookup
from drillgen.speech.pronounce.soundalike import guess_stress, parse_soundalike, to_soundalike

CASES = [
    line.split("\t")
    for line in (Path(__file__).parent / "data" / "soundalike_spellings.tsv")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize(
    ("text", "phones", "why"), CASES, ids=[f"{row[0]}: {row[2]}" for row in CASES]
)
def test_spellings(text: str, phones: str, why: str) -> None:
    assert why
    assert format_phones(parse_soundalike(text, no_lookup)) == phones


WORDS = {
    "shove": "SH AH1 V",
    "water": "W AO1 T ER0",
    "low": "L OW1",
    "bay": "B IY1",
    "o'clock": "AH0 K L AA1 K",
    "faq": "F AE1 K",
    "underdo": "AH2 N D ER0 D UW1",
}


def lookup(word: str) -> Phones | None:
    said = WORDS.get(word)
    return parse_phones(said) if said else None


@pytest.mark.parametrize(
    ("text", "phones"),
    [
        # A word on its own, or of several syllables, is looked up first; a syllable is not.
        ("bay", "B IY1"),
        ("bay-uh", "B EY1 AH0"),
        ("BAY", "B EY1"),
        ("bay bay", "B IY1 B IY0"),
        ("water-loo", "W AO1 T ER0 L UW0"),
        ("water-LOO", "W AO2 T ER0 L UW1"),
        ("WATER-loo", "W AE1 T ER0 L UW0"),
        ("underdo-LOO", "AH2 N D ER0 D UW2 L UW1"),
        ("'water-loo", "W AO1 T ER0 L UW0"),
        ("ˌwater-LOO", "W AO2 T ER0 L UW1"),
        # Where the key fails, any syllable.
        ("faq-uh", "F AE1 K AH0"),
        ("o’clock", "AH0 K L AA1 K"),
        ("O'CLOCK", "AH0 K L AA1 K"),
    ],
)
def test_real_words(text: str, phones: str) -> None:
    assert format_phones(parse_soundalike(text, lookup)) == phones


@pytest.mark.parametrize(
    ("said", "stressed"),
    # The main stress rule (Chomsky and Halle 1968, chapter 3; Hayes 1995) for nouns, where
    # light vowels are IH EH AE AH UH, and a schwa never carries it if another can.
    [
        ("B AA T", 0),
        ("AH B AW T", 1),
        ("IH B AW T", 1),
        ("AA B AW T", 0),
        ("IH N B AW T", 0),
        ("AH N B AW T", 1),
        ("IH B AW", 0),
        ("AH B AW", 1),
        ("IH B IH T", 0),
        ("AH M AA N AH", 1),
        ("AA B IH N T AH", 1),
        ("AA B IH T AH", 0),
        ("AH B IH T AH", 1),
        ("AA B AH N T AH", 0),
        ("AA B AA B IH B AA", 1),
        ("AA B AA B AA B AA", 2),
        ("AA B AH B IH B AA", 2),
    ],
)
def test_likely_stress(said: str, stressed: int) -> None:
    text = " ".join(f"{s}0" if s[0] in "AEIOU" else s for s in said.split())
    found = [
        phone.stress for phone in guess_stress(parse_phones(text)) if phone.stress is not None
    ]
    assert found == [int(i == stressed) for i in range(len(found))]


@pytest.mark.parametrize(
    ("phones", "text"),
    [
        ("K N AY1 T", "K-NIGHT"),
        ("G EH1 T", "GHET"),
        ("G IY1", "GHEE"),
        ("G IH1 V", "GHIV"),
        ("G AE1 T", "GAT"),
        ("G AY1", "GHIGH"),
        ("AY1", "EYE"),
        ("AY1 S", "EYESS"),
        ("B AY1", "BIGH"),
        ("B IH1 S", "BISS"),
        ("B IH1 S T", "BIST"),
        ("B IH1 T S", "BITS"),
        ("B IH1 NG K", "BINK"),
        ("B IH1 NG", "BING"),
        ("B EH1 NG G", "BENGG"),
        ("F AA1 R M", "FARM"),
        ("F AO1 R", "FOR"),
        ("F EH1 R", "FAIR"),
        ("F IH1 R", "FEER"),
        ("F IY1 R", "FIYR"),
        ("F UH1 R", "FOOR"),
        ("F UW1 R", "FEWR"),
        ("F ER1 R", "FUR"),
        ("F ER1", "FUR"),
        ("F AE1 R", "FAAR"),
        ("F OW1 R", "FOHR"),
        ("B IH1", "BIH"),
        ("B AH0 N AE1 N AH0", "buh-NAN-uh"),
        ("S IH1 T IY0", "SIT-ee"),
        ("S IH0 T IY1", "sih-TEE"),
        ("S IH2 T IY1", "sih-TEE"),
        ("S IH2 T IY0 S IY1", "sit-ee-SEE"),
        ("S IH1 W IY0", "SIH-wee"),
        ("S IH1 HH IY0", "SIH-hee"),
        ("S IH1 IY0", "SIH-ee"),
        ("S IH1 T R IY0", "SIT-ree"),
        ("S AA1 T IY0", "SAH-tee"),
        ("S EH1 T IY0", "SET-ee"),
        ("S AE1 T AH0 T EH1 T", "SAT-uh-TET"),
        ("DH IY1 ZH", "DHEEZH"),
        ("JH UH1 CH", "JUUCH"),
        ("Y OY1 TH", "YOYTH"),
        ("W AW1 SH", "WOWSH"),
        ("HH EY1 V", "HAYV"),
        ("P OW0 L UW1", "poh-LOO"),
        ("S T", "st"),
    ],
)
def test_written(phones: str, text: str) -> None:
    assert to_soundalike(parse_phones(phones)) == text
