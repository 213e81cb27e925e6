"""Corrections that hold in one place, one text, or everywhere."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillgen.core.errors import InputError
from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Drill, Origin, Passage
from drillgen.speech.doubts import is_name
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.speech.pronounce.overrides import (
    Overrides,
    add_overrides,
    merge_overrides,
    parse_overrides,
    remove_override,
)
from drillgen.speech.pronounce.places import (
    EVERYWHERE,
    Scope,
    find_places,
    name_place,
    parse_scope,
    split_words,
)
from drillgen.speech.review import ask_questions

TEXT = "A close friend sat close to the door. Please close the door, very close to the edge."
S, Z = "K L OW1 S", "K L OW1 Z"


@pytest.fixture(scope="module")
def engine() -> Engine:
    return Engine.load()


def read(lines: str) -> Overrides:
    return parse_overrides(lines, "words.txt")


def closes(drill: Drill) -> list[str]:
    return [
        format_phones(word.phones)
        for row in drill.readings
        for reading in row
        for word in reading
        if word.word == "close"
    ]


def say(engine: Engine, overrides: Overrides, text: str = TEXT, title: str = "") -> list[str]:
    own = engine.adapt(overrides=overrides)
    return closes(make_drill(Passage(text, title), engine=own))


def test_context_alone(engine: Engine) -> None:
    assert say(engine, Overrides()) == [S, S, Z, S]


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        (f"close {Z}", [Z, Z, Z, Z]),
        (f"close (in a close friend sat close) {Z}", [Z, Z, Z, Z]),
        (f"close (in some other text) {Z}", [S, S, Z, S]),
        (f"close (sat _ to the) {Z}", [S, Z, Z, S]),
        (f"close (in a close friend sat close: very _ to the edge) {Z}", [S, S, Z, Z]),
        # Of one place, one text and everywhere, the narrowest holds.
        (
            f"close {S}\nclose (in A close friend sat) {Z}\nclose (please _ the door) {S}",
            [Z, Z, S, Z],
        ),
        (f"close (sat _ to) {S}\nclose {Z}", [Z, S, Z, Z]),
        # The first of two that fit the same place.
        (f"close (sat _ to) {S}\nclose (sat _) {Z}", [S, S, Z, S]),
    ],
)
def test_the_narrowest_holds(engine: Engine, lines: str, wanted: list[str]) -> None:
    assert say(engine, read(lines)) == wanted


def test_client_before_everywhere(engine: Engine) -> None:
    """Lists in the order in which they are given: the client's, then one's own."""
    client, own = read(f"close {Z}"), read(f"close {S}\nclose (very _ to) {S}")
    assert say(engine, merge_overrides([client, own])) == [Z, Z, Z, S]
    assert say(engine, merge_overrides([own, client])) == [S, S, S, S]
    text_of_client = read(f"close (in Doors) {Z}")
    assert say(engine, merge_overrides([text_of_client, own]), title="Doors") == [Z, Z, Z, S]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        # Other sentences come and go; a neighbour changes; the word moves.
        ("New first line. " + TEXT, [S, S, Z, Z]),
        (TEXT.replace("very close to the edge", "very close to a ledge"), [S, S, Z, Z]),
        (TEXT.replace("A close friend sat close to the door. ", ""), [Z, Z]),
        # The place is gone: nothing is corrected by chance.
        (TEXT.replace(", very close to the edge", ""), [S, S, Z]),
    ],
)
def test_a_place_survives_small_edits(engine: Engine, text: str, wanted: list[str]) -> None:
    lines = read(f"close (in Doors: the door very _ to the edge) {Z}")
    assert say(engine, lines, text, "Doors") == wanted


@pytest.mark.parametrize(
    ("kept_for", "title"),
    [
        # First words, then a title; a first line among the first words, then a title.
        ("A close friend sat close", "The harbour gate"),
        ("The harbour gate a close", "The harbour gate"),
        # A title, then none or another one.
        ("The harbour gate", ""),
        ("The harbour gate", "Harbour gates"),
    ],
)
def test_a_place_outlives_a_change_of_title(engine: Engine, kept_for: str, title: str) -> None:
    kept = read(f"close (in {kept_for}: the door please _ the door very) {S}")
    assert say(engine, kept, title=title) == [S, S, S, S]


def test_another_text_needs_four_neighbours(engine: Engine) -> None:
    for place, wanted in (("please _ the", Z), ("door please _ the door", S)):
        assert say(engine, read(f"close (in Other text: {place}) {S}"))[2] == wanted
    for place, wanted in (("please _ the", S), ("door please _ the door", S)):
        assert say(engine, read(f"close (in A close friend: {place}) {S}"))[2] == wanted
    # A whole text is not told by its places.
    assert say(engine, read(f"close (in Other text) {S}"))[2] == Z


def test_a_place_that_is_gone_is_named(engine: Engine) -> None:
    lines = read(f"close (in Doors: on a hill _ to the sea) {Z}").placed
    passage = Passage(TEXT, "Doors")
    fixed, gone = find_places(passage, engine.tokenizer.tokenize(TEXT), lines)
    assert not fixed
    assert gone == lines
    assert find_places(Passage(TEXT, "Walls"), engine.tokenizer.tokenize(TEXT), lines)[1] == ()


def test_each_place_has_a_name_of_its_own(engine: Engine) -> None:
    passage = Passage(TEXT + " " + TEXT, "Doors")
    tokens = engine.tokenizer.tokenize(passage.text)
    places = [i for i, token in enumerate(tokens) if token.text == "close"]
    scopes = [name_place(passage, tokens, i, "close") for i in places]
    assert len(set(scopes)) == len(places) == 8
    for i, scope in zip(places, scopes, strict=True):
        text = add_overrides("", {"close": parse_phones(Z)}, scope)
        fixed, gone = find_places(passage, tokens, read(text).placed)
        assert list(fixed) == [i], scope
        assert not gone


def test_signs_are_no_neighbours(engine: Engine) -> None:
    """A # would begin a note, a bracket would end the place."""
    passage = Passage("Take # 5 & close (the) door = 2 + 2, close & (2) # close.")
    tokens = engine.tokenizer.tokenize(passage.text)
    for i, token in enumerate(tokens):
        for word in token.spoken:
            scope = name_place(passage, tokens, i, word)
            if scope.is_place:
                line = add_overrides("", {word: parse_phones(Z)}, scope)
                assert i in find_places(passage, tokens, read(line).placed)[0], (line, word)


def test_corrected_places_say_so(engine: Engine) -> None:
    own = engine.adapt(overrides=read(f"close (sat _ to) {Z}"))
    drill = make_drill(Passage(TEXT), engine=own)
    words = [w for row in drill.readings for r in row for w in r if w.word == "close"]
    assert [w.origin is Origin.OVERRIDE for w in words] == [False, True, False, False]
    assert words[1].alternatives == (parse_phones(S),)


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        (f"close () {Z}", "column 7: the brackets are empty"),
        (f"close (sat _ to {Z}", "isn't closed"),
        (f"close (sat by) {Z}", "has one _"),
        (f"close (a _ b _ c) {Z}", "has one _"),
        (f"close (_) {Z}", "no neighbours"),
        (f"close (in : a _ b) {Z}", "the text has no name"),
        ("close (sat _ to)", "has no pronunciation"),
        (f"close (a _) {Z}\nclose (A  _) {S}", "line 2: 'close' is already on line 1"),
    ],
)
def test_scopes_that_cannot_be_read(line: str, problem: str) -> None:
    with pytest.raises(InputError) as caught:
        read(line)
    assert problem in str(caught.value)
    assert str(caught.value).startswith("words.txt, line")


_NAMES = st.lists(st.sampled_from(["please", "the", "door", "o'hara", "édge"]), max_size=4).map(
    tuple
)


@given(_NAMES, _NAMES, _NAMES)
def test_a_scope_is_read_back(
    text: tuple[str, ...], before: tuple[str, ...], after: tuple[str, ...]
) -> None:
    scope = Scope(text, before, after)
    if scope != EVERYWHERE:
        assert parse_scope(str(scope)) == scope


def test_lists_are_edited_by_scope() -> None:
    place = parse_scope("sat _ to")
    text = f"close {S}  # note\nclose (sat _ to) {S} # here\n"
    after = add_overrides(text, {"Close": parse_phones(Z)}, place)
    assert after == f"close {S}  # note\nclose (sat _ to)  {Z}  # here\n"
    assert remove_override(after, "close", place) == f"close {S}  # note\n"
    assert remove_override(after, "close") == f"close (sat _ to)  {Z}  # here\n"
    assert remove_override(after, "closer") == after


def test_words_of_a_text() -> None:
    assert split_words("Don’t — “Stop”, Áine!") == ("don't", "stop", "áine")


def test_questions_show_every_place(engine: Engine) -> None:
    drill = make_drill(Passage(TEXT, "Doors"), engine=engine)
    (question,) = ask_questions([drill], guesses=True)
    assert [use.chosen for use in question.places] == [0, 0, 1, 0]
    assert [use.context.count(">close<") for use in question.places] == [1] * 4
    lines = add_overrides("", {"close": parse_phones(Z)}, question.places[1].scope)
    assert say(engine, read(lines), title="Doors") == [S, Z, Z, S]


def test_what_a_list_does_is_said_once(engine: Engine) -> None:
    lines = read(f"close {Z}\nquay K IY1\nclose (in Doors: by a _ of mine) {S}")
    drill = make_drill(Passage(TEXT, "Doors"), engine=engine.adapt(overrides=lines))
    one_way, gone = drill.notes
    assert "'close' in one way in all 4 places" in one_way
    assert "gone" in gone
    assert "in doors: by a _ of mine (line 3)" in gone


def test_names_come_first(engine: Engine) -> None:
    text = "He read quaighle pages to us. Then Oluoch Vandendriessche came in."
    drill = make_drill(text, engine=engine)
    doubtful = [item for item in drill.review if item.doubtful]
    names = [is_name(item) for item in doubtful]
    assert names == sorted(names, reverse=True)
    assert True in names
    assert [item.doubtful for item in drill.review] == sorted(
        (item.doubtful for item in drill.review), reverse=True
    )


def test_at_most_three_ways_are_offered(engine: Engine) -> None:
    drill = make_drill("We met Quaighle and Szczotkowna.", engine=engine)
    questions = ask_questions([drill], guesses=True)
    assert questions
    assert all(1 <= len(q.candidates) <= 3 for q in questions)
