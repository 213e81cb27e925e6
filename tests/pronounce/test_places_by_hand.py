"""Places of a text: their neighbours counted by hand; and word lists edited line by line."""

from __future__ import annotations

import re

import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Passage, Token, TokenKind
from drillgen.speech.pronounce.overrides import (
    Override,
    Overrides,
    add_overrides,
    format_override,
    merge_overrides,
    parse_overrides,
    parse_said,
    remove_override,
    split_line,
)
from drillgen.speech.pronounce.places import (
    EVERYWHERE,
    FARTHEST,
    Scope,
    count_matches,
    find_places,
    name_place,
    name_text,
    parse_scope,
    split_words,
)

PHONES = parse_phones("K L OW1 Z")


def tokenize(text: str) -> list[Token]:
    """Words are said as they stand, "&" as "and", "don't-go" as two."""
    tokens = []
    for found in re.finditer(r"[\w’'-]+|\s+|.", text):
        part = found[0]
        word = part[0].isalnum()
        kind = TokenKind.WORD if word else TokenKind.OTHER
        kind = TokenKind.SPACE if part.isspace() else kind
        said = (
            tuple(part.lower().replace("’", "'").split("-"))
            if word
            else ("and",)
            if part == "&"
            else ()
        )
        tokens.append(Token(part, found.start(), found.end(), kind, said))
    return tokens


def place(scope: Scope, line: int = 1, word: str = "close") -> Override:
    return Override(word, PHONES, line, "", scope)


def find(text: str, *placed: Override, title: str = "") -> tuple[dict[int, int], list[int]]:
    """The words (by number, from 0) with the line of what holds there; the lines that are gone."""
    tokens = tokenize(text)
    words = [i for i, token in enumerate(tokens) if token.spoken]
    found, gone = find_places(Passage(text, title), tokens, placed)
    return {words.index(i): row.line for i, row in found.items()}, [row.line for row in gone]


@pytest.mark.parametrize(
    ("written", "text", "before", "after"),
    [
        ("in The Ferry", "the ferry", "", ""),
        ("IN The Ferry:", "the ferry", "", ""),
        ("in The Ferry: a _ b", "the ferry", "a", "b"),
        ("a b _", "", "a b", ""),
        ("_ a, b!", "", "", "a b"),
        ("^ a _ b ^", "", "^ a", "b ^"),
        ("in a _ b", "", "in a", "b"),
        ("in x: in a _", "x", "in a", ""),
        ("inside _ the", "", "inside", "the"),
        ("in a: b: _ c", "a", "b", "c"),
        ("  a _  ", "", "a", ""),
    ],
)
def test_scopes(written: str, text: str, before: str, after: str) -> None:
    scope = parse_scope(written)
    assert scope == Scope(tuple(text.split()), tuple(before.split()), tuple(after.split()))
    assert scope.is_place is bool(before or after)
    assert parse_scope(str(scope)) == scope


def test_scopes_are_written() -> None:
    assert str(EVERYWHERE) == ""
    assert str(Scope(("a", "b"))) == "in a b"
    assert str(Scope((), ("a",))) == "a _"
    assert str(Scope((), (), ("a",))) == "_ a"
    assert str(Scope(("t",), (), ("a", "b"))) == "in t: _ a b"
    assert not EVERYWHERE.is_place
    assert Scope((), (), ("a",)).is_place


def test_names_of_texts() -> None:
    assert name_text(Passage("One two three four five six.", "A title!")) == ("a", "title")
    assert name_text(Passage("One, two three four five six.")) == split_words(
        "one two three four five"
    )
    assert name_text(Passage("One two.", "…")) == ("one", "two")
    assert name_text(Passage("x" * 500)) == ("x" * 400,)


@pytest.mark.parametrize(
    ("before", "after", "count"),
    [
        (("x", "a"), ("b", "y"), 4),
        (("z", "a"), ("b", "z"), 2),
        (("x", "z"), ("z", "y"), 0),
        (("a",), (), 1),
        ((), ("b", "y", "z"), 2),
        (("w", "x", "a"), ("b",), 3),
    ],
)
def test_neighbours_count_from_the_word_outwards(
    before: tuple[str, ...], after: tuple[str, ...], count: int
) -> None:
    assert count_matches(Scope((), ("x", "a"), ("b", "y")), before, after) == count


TEXT = "The sea is close to the quay. Close the gate, close to the sea"


def test_where_a_place_is() -> None:
    """Exact places: all of them; else the one that fits best if half of it fits."""
    assert find(TEXT, place(Scope((), (), ("to", "the")))) == ({3: 1, 10: 1}, [])
    assert find(TEXT, place(Scope((), (), ("to", "the", "sea")))) == ({10: 1}, [])
    assert find(TEXT, place(Scope((), ("is",), ("to", "a")))) == ({}, [])
    named = "the sea is close to"

    def near(before: str, after: str) -> tuple[dict[int, int], list[int]]:
        return find(
            TEXT, place(Scope(split_words(named), tuple(before.split()), tuple(after.split())))
        )

    assert near("is", "to a") == ({3: 1}, [])
    assert near("sea was", "to the") == ({}, [1])
    assert near("the gate", "on a") == ({10: 1}, [])
    assert near("the door gate", "on a") == ({}, [1])
    assert near("a b", "c d") == ({}, [1])
    assert near("quay", "the") == ({7: 1}, [])
    assert near("the sea", "^") == ({}, [1])
    assert near("^ the sea is", "") == ({3: 1}, [])
    assert near("", "to the sea ^") == ({10: 1}, [])


def test_whole_texts_and_possessives() -> None:
    text = "Close the close’s gate close by."
    named = Scope(split_words("close the close's gate close"))
    assert find(text, place(named)) == ({0: 1, 2: 1, 4: 1}, [])
    found, _ = find_places(Passage(text), tokenize(text), [place(named)])
    owner = found[4]
    assert (owner.word, format_phones(owner.phones)) == ("close's", "K L OW1 Z IH0 Z")
    # Places before whole texts, the first of each.
    both = (place(named, 1), place(Scope((), (), ("by",)), 2), place(named, 3))
    assert find(text, *both)[0] == {0: 1, 2: 1, 4: 2}
    twice = (place(Scope((), (), ("by",)), 1), place(Scope((), ("gate",)), 2))
    assert find(text, *twice)[0] == {4: 1}


@pytest.mark.parametrize(
    ("name", "title", "holds"),
    [
        ("doors", "Doors", True),
        ("door", "Doors", False),
        ("the sea", "Doors", True),
        ("the", "Doors", False),
        ("the sea is close to", "", True),
        ("the sea is close to the", "", True),
        ("sea is", "", False),
        ("the", "", False),
    ],
)
def test_whose_text_it_is(name: str, title: str, holds: bool) -> None:
    """Its title, or two first words at least."""
    row = place(Scope(tuple(name.split())))
    assert bool(find(TEXT, row, title=title)[0]) is holds
    gone = place(Scope(tuple(name.split()), ("nowhere",)))
    assert find(TEXT, gone, title=title)[1] == ([1] if holds else [])


def test_a_sign_is_no_neighbour() -> None:
    text = "a & close & b"
    assert find(text, place(Scope((), ("a",), ("b",)))) == ({2: 1}, [])
    assert find(text, place(Scope((), ("and",)))) == ({}, [])
    assert find("& close", place(Scope((), ("^",)), word="close")) == ({1: 1}, [])
    assert find("a & b", place(Scope((), ("a",), ("b",)), word="and")) == ({1: 1}, [])
    # Of a token of two words the neighbours are outside.
    assert find("a close-up b", place(Scope((), ("a",), ("b",)), word="close")) == ({1: 1}, [])
    assert find("a close-up b", place(Scope((), ("a",), ("b",)), word="up")) == ({1: 1}, [])
    # A cube of signs before it: four words are looked through for each neighbour.
    assert find("a & & & close", place(Scope((), ("a",)))) == ({4: 1}, [])
    assert find("a & & & & close", place(Scope((), ("a",)))) == ({}, [])


@pytest.mark.parametrize(
    ("text", "word", "wanted"),
    [
        (TEXT, 3, Scope((), ("the", "sea", "is"), ("to", "the", "quay"))),
        (TEXT, 7, Scope((), ("to", "the", "quay"), ("the", "gate", "close"))),
        ("close by", 0, Scope((), (), ("by",))),
        ("a b c d close a b c e close", 4, Scope((), ("b", "c", "d"), ("a", "b", "c"))),
        # Three are not enough where they are alike.
        ("x a b c close a b c y a b c close a b c", 4,
         Scope((), ("x", "a", "b", "c"), ("a", "b", "c", "y"))),
    ],
)  # fmt: skip
def test_names_of_places(text: str, word: int, wanted: Scope) -> None:
    tokens = tokenize(text)
    at = [i for i, token in enumerate(tokens) if token.spoken][word]
    scope = name_place(Passage(text), tokens, at, "close")
    assert (scope.before, scope.after) == (wanted.before, wanted.after)
    assert scope.text == name_text(Passage(text))


def test_places_that_are_alike_for_long() -> None:
    """Twelve neighbours at most, and then the edges of the text are among them."""
    text = " ".join(["a"] * 20 + ["close"] + ["a"] * 30 + ["close"] + ["a"] * 20)
    tokens = tokenize(text)
    first, _ = (i for i, token in enumerate(tokens) if token.text == "close")
    assert name_place(Passage(text), tokens, first, "close").before == ("a",) * FARTHEST
    assert FARTHEST == 12
    short = "a a close a a close a a"
    tokens = tokenize(short)
    scopes = [
        name_place(Passage(short), tokens, i, "close")
        for i, token in enumerate(tokens)
        if token.text == "close"
    ]
    assert scopes[0] != scopes[1]
    assert all(find_places(Passage(short), tokens, [place(s)])[0] for s in scopes)


# Word lists


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ("tide T AY1 D", ("tide", "", "T AY1 D")),
        ("tide", ("tide", "", "")),
        ("tide (a _ b) T AY1 D", ("tide", "a _ b", "T AY1 D")),
        ("tide ( a _ )T AY1 D", ("tide", "a _", "T AY1 D")),
        ("tide () T", ("tide", " ", "T")),
        ("tide /(t)a/", ("tide", "", "/(t)a/")),
    ],
)
def test_lines(body: str, wanted: tuple[str, str, str]) -> None:
    assert split_line(body) == wanted


@pytest.mark.parametrize(
    ("said", "phones"),
    [
        ("T AY1 D", "T AY1 D"),
        ("T AY D", "T AY1 D"),
        ("t ay d", "T AY1 D"),
        ("T AY0 D", "T AY0 D"),
        ("S T", "S T"),
        ("/taɪd/", "T AY1 D"),
        ("[taɪd]", "T AY1 D"),
        ("/taɪdɪd/ ", None),
        ("like: tighd", "T AY1 D"),
        ("LIKE:tighd", "T AY1 D"),
        ("AH", "AH1"),
        ("T AH0 T AY", "T AH0 T AY0"),
    ],
)
def test_notations(said: str, phones: str | None) -> None:
    if phones is not None:
        assert format_phones(parse_said(said)) == phones


def test_notes_and_blanks() -> None:
    """A # begins a note where a word may begin; what is inside a word stays."""
    text = "a#b  T   AY1\tD  #  two   words # more\n#x\n\t\ntide\t(a _) T AY1 D #"
    found = parse_overrides(text, "x")
    (row,), (placed,) = list(found), found.placed
    assert (row.word, row.note, row.line) == ("a#b", "two   words # more", 1)
    assert (placed.word, placed.note, placed.line) == ("tide", "", 4)
    assert placed.scope == Scope((), ("a",))
    assert found.get("tide") is None
    assert len(found) == 1


def test_merging() -> None:
    one = Overrides({"a": place(EVERYWHERE, 1, "a")}, ("w1",), (place(Scope(("t",)), 2),))
    two = parse_overrides("a T AY1 D\nb T AY1 D\nb (x _) T AY1 D", "x")
    both = merge_overrides([one, Overrides(warnings=("w2",)), two])
    assert [(row.word, row.line) for row in both] == [("a", 1), ("b", 2)]
    assert both.warnings == ("w1", "w2")
    assert [row.line for row in both.placed] == [2, 3]
    assert format_phones(both.get("b") or ()) == "T AY1 D"


def test_lines_are_written() -> None:
    phones = parse_phones("T AY1 D")
    assert format_override("TIDE", phones) == "tide  T AY1 D"
    assert format_override("tide", phones, "  two\n lines ") == "tide  T AY1 D  # two lines"
    assert format_override("tide", phones, " ") == "tide  T AY1 D"
    scope = Scope(("t",), ("a",))
    assert format_override("tide", phones, "n", scope) == "tide (in t: a _)  T AY1 D  # n"


SCOPE = Scope((), ("a",), ("b",))


@pytest.mark.parametrize(
    ("text", "scope", "wanted"),
    [
        ("tide T IY1 D\nx T IY1", EVERYWHERE, "tide  T AY1 D\nx T IY1"),
        ("tide (a _ b) T IY1 D\n", EVERYWHERE, "tide (a _ b) T IY1 D\ntide  T AY1 D\n"),
        ("tide T IY1 D\n", SCOPE, "tide T IY1 D\ntide (a _ b)  T AY1 D\n"),
        ("x T\ntide (A _ b!) T IY1 D # n", SCOPE, "x T\ntide (a _ b)  T AY1 D  # n"),
        # The first of two is the one that counts; what can't be read stays.
        ("tide T\ntide T", EVERYWHERE, "tide  T AY1 D\ntide T"),
        ("tide (a T\n", EVERYWHERE, "tide (a T\ntide  T AY1 D\n"),
        ("\ufefftide T # n\r\nx T\r\n", EVERYWHERE, "\ufefftide  T AY1 D  # n\r\nx T\r\n"),
        ("\ufeffx T", EVERYWHERE, "\ufeffx T\ntide  T AY1 D\n"),
        ("x T\r\ny T", EVERYWHERE, "x T\r\ny T\r\ntide  T AY1 D\r\n"),
        ("x T\n\ufefftide T", EVERYWHERE, "x T\n\ufefftide T\ntide  T AY1 D\n"),
    ],
)
def test_editing(text: str, scope: Scope, wanted: str) -> None:
    phones = parse_phones("T AY1 D")
    assert add_overrides(text, {"Tide": phones}, scope) == wanted
    assert add_overrides(wanted, {"tide": phones}, scope) == wanted


def test_several_at_once() -> None:
    a, b = parse_phones("AH0"), parse_phones("B IY1")
    assert add_overrides("b B", {"a": a, "B": b, "a’b": b}) == "b  B IY1\na  AH0\na'b  B IY1\n"
    assert add_overrides("b B", {}) == "b B"


@pytest.mark.parametrize(
    ("text", "scope", "wanted"),
    [
        ("tide T\nx T\ntide (a _ b) T\n", EVERYWHERE, "x T\ntide (a _ b) T\n"),
        ("tide T\nx T\ntide (a _ b) T\n", SCOPE, "tide T\nx T\n"),
        ("x T\r\n# n\n", EVERYWHERE, "x T\r\n# n\n"),
        ("\ufefftide T # n\nx T", EVERYWHERE, "x T"),
        ("tide T\ntide T", EVERYWHERE, ""),
    ],
)
def test_removing(text: str, scope: Scope, wanted: str) -> None:
    assert remove_override(text, "TIDE", scope) == wanted
