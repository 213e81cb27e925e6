"""How sentences are said: tables of our own, and what must hold for any text."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from said import Case, Score, find_parts, is_right, load_beats, load_cases, read, score_case

from drillgen.core.resources import read_table
from drillgen.core.values import Boundary, Grade, Token, Tune
from drillgen.speech.prosody.network import Network
from drillgen.speech.prosody.reader import Prosody, Said
from drillgen.speech.prosody.row import count_syllables
from drillgen.speech.text.clauses import split_clauses
from drillgen.speech.text.tokens import tokenize

PROSODY = Prosody.load()
DEVELOPMENT = load_cases("development")
ENDINGS = read_table("prosody_endings.tsv")
TEST = load_cases("test")
KNOWN_FAILURES: set[str] = set()
WORDS = """
the a of to and boat pier gave up sat down in on she will that was very old not don't New York
city who looked it him because twenty three
""".split()  # noqa: SIM905
MARKS = [" ", " ", " ", " ", ", ", ". ", "? ", "; ", " (", ") ", "\n", "\n\n", " — ", "… "]


@cache
def read_development() -> Mapping[str, tuple[tuple[Token, ...], Said]]:
    return {case.text: read(PROSODY, case.text) for case in DEVELOPMENT}


def test_development() -> None:
    def is_as_known(case: Case) -> bool:
        right = is_right(score_case(case, find_parts(read_development()[case.text][1])))
        return right != (case.text in KNOWN_FAILURES)

    assert len(DEVELOPMENT) > 400
    faults = [case.text for case in DEVELOPMENT if not is_as_known(case)]
    assert not faults, "\n".join(faults)


def test_the_parts_are_kept_apart() -> None:
    assert not {case.text for case in DEVELOPMENT} & {case.text for case in TEST}
    assert sum(len(case.parts) for case in DEVELOPMENT + TEST) >= 150


def test_test_part() -> None:
    """What was reached when the sentences were first read; see docs/prosody.md."""
    scores = [score_case(case, find_parts(read(PROSODY, case.text)[1])) for case in TEST]
    total = Score(*map(sum, zip(*scores, strict=True)))
    assert total.nuclei / total.phrases > 0.8
    assert total.breaks / total.sentences > 0.94
    assert total.tunes / total.phrases > 0.95


@pytest.mark.parametrize("case", load_beats(), ids=lambda case: case[1])
def test_structure_words_have_no_beat(case: tuple[str, str, str]) -> None:
    """Only the development part was looked at when the rule was written."""
    _, text, light = case
    plain = [
        token.text.lower()
        for phrase in read(PROSODY, text)[1].phrases
        for token, grades in zip(phrase.tokens, phrase.grades, strict=True)
        if Grade.NONE in grades
    ]
    for word in light.split():
        plain.remove(word)


@settings(max_examples=200, derandomize=True, deadline=None)
@given(
    st.text(max_size=50)
    | st.lists(st.tuples(st.sampled_from(WORDS), st.sampled_from(MARKS)), max_size=40).map(
        lambda pairs: "".join(word + mark for word, mark in pairs)
    ),
    st.integers(4, 40),
)
def test_any_text(text: str, breath: int) -> None:
    tokens, said = read(PROSODY, text, breath)
    assert tuple(token for phrase in said.phrases for token in phrase.tokens) == tokens
    speaks = any(token.spoken for token in tokens)
    for phrase, weak in zip(said.phrases, said.weak, strict=True):
        assert list(map(len, phrase.grades)) == [len(token.spoken) for token in phrase.tokens]
        grades = [grade for row in phrase.grades for grade in row]
        assert grades.count(Grade.NUCLEUS) == speaks
        assert len(weak) == len(phrase.tokens)
        for light, row in zip(weak, phrase.grades, strict=True):
            assert not light or row == (Grade.NONE,)
        assert (phrase.tune is Tune.LEVEL) == (phrase.boundary is Boundary.NONE)
    for left, right in itertools.pairwise(said.phrases):
        step = right.sentence - left.sentence
        # A short "No." goes on with the sentence that it leads.
        leads = len(left.tokens) < 6 and right.paragraph == left.paragraph
        # In verse a sentence begins with a line.
        leads |= 0 < left.line == right.line
        assert step == (left.boundary is Boundary.MAJOR) or (leads and not step)
        assert right.paragraph - left.paragraph in ((0, 1) if step else (0,))


def test_the_same_whatever_was_read_before() -> None:
    fresh = Prosody.load()
    assert fresh is not PROSODY
    for text, found in reversed(list(read_development().items())):
        assert read(fresh, text) == found


@pytest.mark.parametrize(
    "bound",
    [
        "put up", "grown up", "kind of", "a little while", "the old pier", "will have been seen",
        "in the harbour", "New York", "gave it up", "twenty three", "out of order", "my own boat",
    ],
)  # fmt: skip
@pytest.mark.parametrize("breath", [4, 8, 14])
def test_no_breath_inside_what_belongs_together(bound: str, breath: int) -> None:
    text = f"In the end the people of the long valley {bound} near Tom and others went on with it"
    _, said = read(PROSODY, text, breath)
    joined = ["".join(token.text for token in phrase.tokens) for phrase in said.phrases]
    assert any(bound in phrase for phrase in joined), joined


def test_a_shorter_breath_makes_more_phrases() -> None:
    text = (
        "The old man who sold us the baskets walked slowly along the wet stone pier and "
        "looked for his brother among the people that waited for the last boat home"
    )
    counts = [len(read(PROSODY, text, breath)[1].phrases) for breath in (5, 8, 14, 40)]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > counts[-1]


def test_verse_keeps_its_lines() -> None:
    verse = "Roses are red,\nViolets are blue,\nThe kettle is on\nAnd waits for you."
    _, said = read(PROSODY, verse, 40)
    lines = ["".join(token.text for token in phrase.tokens) for phrase in said.phrases]
    assert "".join(lines) == verse
    assert lines == verse.splitlines(keepends=True)
    assert [phrase.line for phrase in said.phrases] == [1, 2, 3, 4]


def test_a_line_of_verse_goes_on_behind_its_breaths() -> None:
    verse = (
        "The tide is low, and the sand is wet,\nThe nets are in. The gulls\n"
        "  Are asleep on the beam.\n\nProse again."
    )
    phrases = read(PROSODY, verse)[1].phrases
    assert [phrase.line for phrase in phrases] == [1, 1, 2, 2, 3, 0]
    assert [phrase.sentence for phrase in phrases] == [0, 0, 0, 0, 0, 1]
    talk = "“Is it far? I'm tired.”\n“No, and it's all downhill.”"
    assert not any(phrase.line for phrase in read(PROSODY, talk)[1].phrases)
    prose = "The boats come in with a load of\nsmall silver fish."
    assert len(read(PROSODY, prose, 40)[1].phrases) == 1


def test_network_reads_sentences_apart() -> None:
    """A sentence is read alike alone and in company, whatever its length."""
    network = Network.load()
    sentences = ["The boat is late.", "Who asked?", "word " * 450 + "end."]
    prosody = Prosody(network, {})
    together = tokenize(" ".join(sentences))
    phrases = prosody.read(together, split_clauses(together)).phrases
    alone = [phrase for text in sentences for phrase in read(prosody, text)[1].phrases]
    assert [phrase.grades for phrase in alone] != []
    assert [[g for g in p.grades if g] for p in phrases] == [
        [g for g in p.grades if g] for p in alone
    ]


@pytest.mark.parametrize(
    ("text", "sentences"),
    [
        ("Hi! How are you?", 1),
        ("OK. Let us begin the lesson. Yes. It is late.", 2),
        ("“Oh no! Not again,” said Ruth.", 1),
        ("Two boats. Two nets.", 2),
        ("- Yes.\n- No.\n- It is late.", 3),
        ("Hello!\n\nThe boat is late.", 2),
        ("The boat is late. Yes.", 2),
    ],
)
def test_a_greeting_leads_its_sentence(text: str, sentences: int) -> None:
    assert read(PROSODY, text)[1].phrases[-1].sentence + 1 == sentences


@pytest.mark.parametrize(
    "text",
    ["", " \n", "...", "(((", "«»", "😀", "—", "word", "a" * 3000, "no " * 3000, "(" * 500 + "a"],
)
def test_odd_texts(text: str) -> None:
    tokens, said = read(PROSODY, text)
    assert tuple(token for phrase in said.phrases for token in phrase.tokens) == tokens


def test_a_short_breath_is_kept_where_syntax_allows_it() -> None:
    """Syllables of the longest group; the parts of a sentence hold together all the same."""
    text = (
        "The tailor says that he is waiting for the button seller at the end of the lane, "
        "and the seller gets up at three without hating the whole world for ten minutes."
    )
    longest = [
        max(
            count_syllables(" ".join(word for token in phrase.tokens for word in token.spoken))
            for phrase in read(PROSODY, text, breath)[1].phrases
        )
        for breath in (6, 14, 30)
    ]
    assert longest == sorted(longest)
    assert longest[0] < longest[1]


@pytest.mark.parametrize(("pattern", "example"), [row[1:] for row in ENDINGS])
def test_examples_of_endings(pattern: str, example: str) -> None:
    # The word in capitals carries the tune (Wells 2006, from memory); nothing else may.
    (loud,) = (word for word in example.split() if word.isupper())
    (part,) = find_parts(read(PROSODY, f"{example.capitalize()}.")[1])
    assert part.nucleus.lower() == loud.lower()
    assert pattern.count("*") == 1
