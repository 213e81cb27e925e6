"""Errors carry what, where and the mend as fields; their text is one line."""

from __future__ import annotations

import pickle

import pytest

from drillgen.core.errors import InputError, OptionError, placed
from drillgen.speech.pronounce.overrides import parse_overrides


def test_fields_of_a_bad_line() -> None:
    with pytest.raises(InputError) as caught:
        parse_overrides("# names\nsiobhan /ʃəˈvʘn/\n", "names.txt")
    error = caught.value
    assert (error.file, error.line, error.column) == ("names.txt", 2, 14)
    assert error.what.startswith("unknown IPA symbol 'ʘ'")
    assert error.mend
    assert str(error) == f"names.txt, line 2, column 14: {error.what}; {error.mend}"


def test_one_line_whatever_is_in_it() -> None:
    assert str(InputError("a\nb", " c\r\n", file="x\ny")) == "x y: a b; c"


def test_an_inner_place_stays() -> None:
    with pytest.raises(OptionError) as caught, placed("outer", 9), placed("inner"):
        raise OptionError("no")
    assert (caught.value.file, caught.value.line) == ("inner", 9)


def test_errors_travel_between_processes() -> None:
    error = InputError("what", "mend", file="f", line=2, column=3)
    assert vars(pickle.loads(pickle.dumps(error))) == vars(error)
