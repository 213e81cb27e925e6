"""What the swap says at its edges: other accents, thresholds, defaults, messages.

Found by mutation testing (docs/mutation.md): each line below fails if the code it is about is
changed in a small way.
"""

from __future__ import annotations

import pytest

from drillgen.core.accents import load_accent
from drillgen.core.errors import OptionError
from drillgen.core.formants import bark_distance
from drillgen.core.options import Strategy
from drillgen.core.phones import parse_phones
from drillgen.core.values import Grade
from drillgen.speech.swap.ladder import (
    FAR,
    UNCHANGED,
    choose_vowels,
    far_vowels,
    in_first_half,
    level_vowels,
    load_set_shares,
    load_vowel_shares,
    nearness_levels,
    rank_vowels,
    share_vowels,
)
from drillgen.speech.swap.targets import list_targets, parse_target, swap_vowels

BRITISH = load_accent("non-rhotic")


def test_targets_are_those_of_the_accent() -> None:
    assert [target.symbol for target in list_targets(BRITISH)] == list(BRITISH.targets)
    assert list_targets(BRITISH) != list_targets()
    assert {target.lexical_set for target in list_targets()} >= {"FLEECE", "KIT", "GOOSE"}
    assert parse_target("LOT", BRITISH).symbol == "OH"
    only = {t.ipa for t in list_targets(BRITISH)} - {t.ipa for t in list_targets()}
    for ipa in only:
        assert parse_target(ipa, BRITISH).ipa == ipa
        assert parse_target(f"/{ipa.removesuffix('ː')}/", BRITISH).ipa == ipa


def test_an_unknown_target_is_named_with_the_choices() -> None:
    for text in ("X", "XiX", "ː"):
        with pytest.raises(OptionError) as caught:
            parse_target(text)
        assert caught.value.what == f"target {text!r} is unknown"
        assert caught.value.mend.startswith("choose one of: i (FLEECE), ")


def test_the_swap_keeps_what_was_before_and_names_a_bad_choice() -> None:
    phones = parse_phones("K AE1 T")
    assert swap_vowels(phones, "IY").before is phones
    with pytest.raises(ValueError, match=r"not all of \[0\] are vowels of K AE1 T"):
        swap_vowels(phones, "IY", [0])


def test_nearness_is_that_of_the_accent() -> None:
    ranks = rank_vowels("IY", BRITISH)
    assert {*ranks} == {*BRITISH.vowels}
    distances = [bark_distance(symbol, "IY", BRITISH) for symbol in ranks]
    assert distances == sorted(distances)
    shares = share_vowels(BRITISH, load_vowel_shares(), load_set_shares())
    assert sum(shares.values()) == pytest.approx(1, abs=1e-3)
    levels = nearness_levels("IY", shares, BRITISH)
    assert ranks[0] == "IY"
    assert {*levels} == {*BRITISH.vowels}


def test_a_level_is_the_middle_of_its_stretch() -> None:
    """Three other vowels with equal shares: at one, three and five sixths."""
    symbols = rank_vowels("IY")
    shares = dict.fromkeys(symbols, 0.0) | dict.fromkeys(symbols[1:4], 0.2)
    levels = nearness_levels("IY", shares)
    assert [levels[s] for s in symbols[1:4]] == pytest.approx([1 / 6, 1 / 2, 5 / 6])
    assert max(level for level in levels.values() if level != UNCHANGED) == 0.999
    assert levels["IY"] == UNCHANGED


def test_shares_of_an_accent() -> None:
    """A vowel that an accent keeps whole takes its share, others are spread over their sets."""
    shares, sets = load_vowel_shares(), load_set_shares()
    own = share_vowels(BRITISH, shares, sets)
    for symbol in BRITISH.direct:
        assert own[BRITISH.direct[symbol]] >= shares[symbol]
    assert all(sum(parts.values()) == pytest.approx(1, abs=1e-3) for parts in sets.values())
    assert own["OH"] > 0


def test_far_begins_at_its_level() -> None:
    nearness = {"AA": FAR, "AE": FAR - 0.01, "IY": UNCHANGED, "UW": 0.999}
    assert far_vowels(nearness) == {"AA", "UW"}


@pytest.mark.parametrize(("ordinal", "first"), [(0, True), (1, False), (2, True), (3, False)])
def test_alternate_words(ordinal: int, first: bool) -> None:
    found = in_first_half(Strategy.ALTERNATE, stressed=True, is_function=False, ordinal=ordinal)
    assert found is first


def test_distance_has_no_halves() -> None:
    with pytest.raises(ValueError, match=r"^distance has no halves$"):
        in_first_half(Strategy.DISTANCE, stressed=True, is_function=False, ordinal=0)


def test_a_word_is_no_function_word_and_the_first_unless_said() -> None:
    phones, near = parse_phones("K AE1 T"), {"AE": 0.5}
    assert level_vowels(phones, near, Strategy.CONTENT) == (0.25,)
    every_other = [
        level_vowels(phones, near, Strategy.ALTERNATE, ordinal=ordinal) for ordinal in range(5)
    ]
    assert every_other == [(0.25,), (0.75,), (0.25,), (0.75,), (0.25,)]
    assert level_vowels(phones, near, Strategy.ALTERNATE) == (0.25,)
    assert level_vowels(phones, near, Strategy.STRESSED, grade=Grade.NONE) == (0.75,)


def test_a_threshold_is_not_in_its_rung() -> None:
    phones = parse_phones("K AE1 T")
    assert choose_vowels(phones, (0.5,), 0.5) == ()
    assert choose_vowels(phones, (0.49,), 0.5) == (1,)
    with pytest.raises(ValueError, match="zip"):
        choose_vowels(phones, (0.1, 0.2), 0.5)
