"""The overrides file."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import InputError
from drillgen.core.phones import PHONE_TABLE, format_phones, parse_phones
from drillgen.speech.pronounce.overrides import (
    Override,
    add_overrides,
    format_override,
    normalize_word,
    parse_overrides,
)

FILE = """\
# the people of Pellow Quay

Siobhan\tSH AH0 V AO1 N
niamh     /niːv/              # the baker
  eilidh  like: AY-lee  # plays the fiddle
O’Hanlon  [oʊˈhænlən]
c#        s iy1 sh aa1 r p
may       M EY
"""


def test_file() -> None:
    found = parse_overrides(FILE, "names.txt")
    assert [(e.word, format_phones(e.phones), e.line, e.note) for e in found] == [
        ("siobhan", "SH AH0 V AO1 N", 3, ""),
        ("niamh", "N IY1 V", 4, "the baker"),
        ("eilidh", "EY1 L IY0", 5, "plays the fiddle"),
        ("o'hanlon", "OW0 HH AE1 N L AH0 N", 6, ""),
        ("c#", "S IY1 SH AA1 R P", 7, ""),
        ("may", "M EY1", 8, ""),
    ]
    assert found.get("niamh") == parse_phones("N IY1 V")
    assert found.get("maeve") is None
    assert len(found) == 6


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n", "\ufeff", "\r\n"])
def test_nothing_in_it(text: str) -> None:
    assert len(parse_overrides(text, "x")) == 0


def test_byte_order_mark_and_crlf() -> None:
    found = parse_overrides("\ufeffmaeve M EY1 V\r\nniamh N IY1 V # note\r\n", "x")
    assert [(e.word, e.note) for e in found] == [("maeve", ""), ("niamh", "note")]


@pytest.mark.parametrize(
    ("line", "problem", "mend"),
    [
        ("siobhan", "has no pronunciation", "like:"),
        ("siobhan # later", "has no pronunciation", "like:"),
        ("siobhan shiv-AWN", "can't read 'shiv-AWN'", "like: shiv-AWN"),
        ("siobhan SH QQ1 N", "unknown phoneme 'QQ1'", "ARPAbet"),
        ("siobhan SH1 N", "unknown phoneme 'SH1'", "ARPAbet"),
        ("siobhan /ʃəˈvʘn/", "column 14: unknown IPA symbol", "dictionary"),
        ("siobhan /ʃəˈvɔn", "isn't closed", "end it as it begins"),
        ("siobhan /ʃəvɔn/", "no syllable is stressed", "put ˈ"),
        ("siobhan SH AH V AO N", "no syllable is stressed", "put a 1"),
        ("siobhan like:", "empty", "shiv-AWN"),
        ("siobhan like: bqt", "can't read the letters", "shiv-AWN"),
        ("42 F AO1 R", "isn't a word", "begin the line with a word"),
        ("MAEVE M AE1 V", "'maeve' is already on line 1", "keep one"),
    ],
)
def test_errors_name_file_line_and_mend(line: str, problem: str, mend: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_overrides(f"maeve M EY1 V\n\n{line}\n", "names.txt")
    message = str(caught.value)
    assert message.startswith("names.txt, line 3")
    assert problem in message
    assert mend in message
    assert "\n" not in message


def test_replacing_keeps_every_other_byte() -> None:
    phones = parse_phones("N IY1 AH0 V")
    after = add_overrides(FILE, {"Niamh": phones})
    old, new = FILE.split("\n"), after.split("\n")
    assert len(old) == len(new)
    assert [i for i, pair in enumerate(zip(old, new, strict=True)) if pair[0] != pair[1]] == [3]
    assert new[3] == "niamh  N IY1 AH0 V  # the baker"


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("", "maeve  M EY1 V\n"),
        ("# names", "# names\nmaeve  M EY1 V\n"),
        ("a EY1\r\n", "a EY1\r\nmaeve  M EY1 V\r\n"),
        ("\ufeffMaeve M AE1 V\r\n", "\ufeffmaeve  M EY1 V\r\n"),
        ("maeve M AE1 V", "maeve  M EY1 V"),
        ("maeves M AE1 V Z\n", "maeves M AE1 V Z\nmaeve  M EY1 V\n"),
    ],
)
def test_adding(text: str, wanted: str) -> None:
    assert add_overrides(text, {"Maeve": parse_phones("M EY1 V")}) == wanted


@pytest.mark.parametrize("word", ["", "two words", "# remark", "a\tb"])
def test_words_that_cannot_stand_in_a_file(word: str) -> None:
    with pytest.raises(InputError, match="choose a single word"):
        add_overrides("", {word: parse_phones("AH0")})


_PHONES = st.lists(st.sampled_from(sorted(PHONE_TABLE)), min_size=1, max_size=8).map(
    lambda symbols: tuple(PHONE_TABLE[symbol] for symbol in symbols)
)
_WORDS = st.from_regex(r"[a-zé][a-z'é-]{0,8}", fullmatch=True)


@given(st.dictionaries(_WORDS, _PHONES, max_size=6), _WORDS, _PHONES)
@settings(max_examples=150, derandomize=True, deadline=None)
def test_what_is_added_is_read_back(
    start: dict[str, tuple[object, ...]], word: str, phones: tuple[object, ...]
) -> None:
    text = ""
    for known, said in start.items():
        text = add_overrides(text, {known: said})  # type: ignore[dict-item]
    text = add_overrides(text, {word: phones})  # type: ignore[dict-item]
    found = parse_overrides(text, "x")
    wanted = {normalize_word(known): said for known, said in start.items()}
    wanted[normalize_word(word)] = phones
    assert {entry.word: entry.phones for entry in found} == wanted
    lines = "".join(f"{format_override(e.word, e.phones, e.note)}\n" for e in found)
    assert parse_overrides(lines, "x").entries.keys() == found.entries.keys()


@given(st.text(max_size=60))
@settings(max_examples=200, derandomize=True, deadline=None)
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        found = parse_overrides(text, "names.txt")
    except InputError as error:
        message, found = str(error), parse_overrides("", "x")
    else:
        message = "names.txt, line 1"
    assert message.startswith("names.txt, line ")
    for entry in found:
        assert isinstance(entry, Override)
        line = format_override(entry.word, entry.phones, entry.note)
        (again,) = parse_overrides(line, "x")
        assert (again.word, again.phones) == (entry.word, entry.phones)
