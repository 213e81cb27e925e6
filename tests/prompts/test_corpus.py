"""The corpora keep their own rules, and the rules catch what breaks them."""

from __future__ import annotations

import functools
import itertools
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from corpus_rules import (
    BALANCE_LIMIT,
    DOUBT_LIMIT,
    LEAST,
    list_doubtful,
    measure_spread,
    read_cmudict,
    running_shares,
    split_sentences,
    split_words,
    total_variation,
    validate,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import DrillgenError, InputError, OptionError
from drillgen.core.options import Locale, Unit
from drillgen.core.phones import CONSONANTS, VOWELS, parse_phones, vowel_indexes
from drillgen.core.resources import resource_folder
from drillgen.core.values import Phones
from drillgen.corpus.difficulty import ScoredWord, Scorer, find_step, score_total
from drillgen.corpus.reader import (
    DEFAULT_PASSAGE,
    LEXICAL_SETS,
    LIST_UNITS,
    STEPS,
    has_set_vowel,
    load_default_passage,
    load_passage,
    load_passages,
    load_prompts,
    load_word_list,
    parse_prompts,
    read_corpus_file,
)
from drillgen.speech.pipeline import Engine

DATA = Path(__file__).parent / "data"
SCORER = functools.cache(Scorer.load)
BACK_ROUNDED = {"UW", "UH", "OW", "AO", "OY", "AW"}


@pytest.fixture(scope="module")
def engine() -> Engine:
    return Engine.load()


@functools.cache
def cmudict_words() -> dict[str, tuple[Phones, ...]]:
    return read_cmudict()


def test_every_file_keeps_the_rules() -> None:
    assert [str(problem) for problem in validate(lexicon=cmudict_words())] == []


def test_there_is_enough() -> None:
    passages, prompts = load_passages(), load_prompts()
    assert len(passages) >= 12
    for step in STEPS:
        assert sum(p.step == step for p in passages) >= 4
    assert len({p.topic for p in prompts}) >= 18
    # So that the documented `--topic errands --count 6` works for every topic and step.
    for topic in {p.topic for p in prompts}:
        for step in STEPS:
            assert sum((p.topic, p.step) == (topic, step) for p in prompts) >= 6


def test_default_passage() -> None:
    passage = load_default_passage()
    assert passage.title
    assert 90 <= len(split_words(passage.text)) <= 110
    assert load_passage().step == 2
    assert load_passage().key == DEFAULT_PASSAGE


def test_balanced_passages_are_near_running_english() -> None:
    reference = running_shares()
    balanced = [p for p in load_passages() if p.balanced]
    assert len(balanced) >= 2
    for passage in load_passages():
        words = split_words(passage.text)
        spread = measure_spread(words, cmudict_words())
        distance = total_variation(spread.shares, reference)
        # The word "balanced" must mean something: the other passages are farther away.
        assert (distance <= BALANCE_LIMIT) == passage.balanced
        if passage.balanced:
            assert all(spread.shares.values())
            assert min(spread.stressed.values()) >= 2
            assert min(spread.unstressed.values()) >= 2


def test_reference_shares_come_from_wordfreq_and_cmudict() -> None:
    # wordfreq 3 (Speer 2022), list "best", times the first entries of CMUdict.
    from wordfreq import get_frequency_dict

    counts = dict.fromkeys((*VOWELS, *CONSONANTS), 0.0)
    for word, frequency in get_frequency_dict("en", wordlist="best").items():
        if word in cmudict_words():
            for phone in cmudict_words()[word][0]:
                counts[phone.symbol] += frequency
    total = sum(counts.values())
    shares = running_shares()
    assert shares.keys() == counts.keys()
    for symbol, count in counts.items():
        # Half a percentage point: wordfreq's next edition may move a little.
        assert shares[symbol] == pytest.approx(count / total, abs=0.005)


def test_reference_agrees_with_a_handbook() -> None:
    # Mines, Hanson and Shoup (1978), Frequency of occurrence of phonemes in conversational
    # English, Language and Speech 21: the most frequent consonants are n, t, s, r, l, d; the
    # rarest sounds are zh and oi (order from memory, so only the groups are checked).
    shares = running_shares()
    consonants = sorted(CONSONANTS, key=shares.__getitem__, reverse=True)
    assert set(consonants[:6]) == {"N", "T", "S", "R", "L", "D"}
    assert set(sorted(shares, key=shares.__getitem__)[:2]) == {"ZH", "OY"}


def test_answers_grow_harder() -> None:
    means = []
    for step in STEPS:
        vowels = [
            phone.symbol
            for prompt in load_prompts()
            if prompt.step == step
            for word in split_words(prompt.answer)
            for phone in cmudict_words()[word][0]
            if phone.is_vowel
        ]
        means.append(sum(v in BACK_ROUNDED for v in vowels) / len(vowels))
    assert means == sorted(means)
    assert means[2] > 2 * means[0]


def mean_difficulty(text: str) -> float:
    scorer = SCORER()
    totals = []
    for sentence in split_sentences(text):
        spoken = [(word, cmudict_words()[word][0]) for word in split_words(sentence)]
        words = [ScoredWord(word, phones, vowel_indexes(phones)) for word, phones in spoken]
        totals.append(score_total(words, scorer))
    return sum(totals) / len(totals)


def test_steps_agree_with_the_computed_difficulty() -> None:
    # Written first, scored afterwards: an independent check of both.
    passages = load_passages()
    for easier, harder in itertools.pairwise(STEPS):
        most = max(mean_difficulty(p.text) for p in passages if p.step == easier)
        least = min(mean_difficulty(p.text) for p in passages if p.step == harder)
        assert most < least
    for kind in ("easier", "answer"):
        means = [
            mean_difficulty(" ".join(getattr(p, kind) for p in load_prompts() if p.step == step))
            for step in STEPS
        ]
        # Talk is made of weak words, so its steps lie closer together, and lower.
        assert means[0] + 5 < means[1] < means[2] - 3
        assert find_step(means[0]) == 1


def rows(name: str) -> list[list[str]]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    found = [line.split("\t") for line in lines if line and not line.startswith("#")]
    assert found
    return found


@pytest.mark.parametrize(("name", "word", "expected"), rows("set_words.tsv"))
def test_lexical_sets_as_in_wells(name: str, word: str, expected: str) -> None:
    entries = cmudict_words()[word]
    assert any(has_set_vowel(entry, name) for entry in entries) == (expected == "yes")


def test_every_wells_set_is_there() -> None:
    # Wells (1982), table 1.(xxvii): 24 sets, and the three unstressed ones of 2.2.25.
    assert len(LEXICAL_SETS) == 24 + 3
    for name in LEXICAL_SETS:
        assert load_word_list(name).lexical_set == name


def test_sets_after_the_accent_step() -> None:
    assert has_set_vowel(parse_phones("N ER1 R S"), "NURSE")
    assert has_set_vowel(parse_phones("L EH1 T ER0 R"), "LETTER")
    assert not has_set_vowel(parse_phones("N ER1 R S"), "LETTER")


def test_every_vowel_has_full_lists() -> None:
    full = {vowel.lexical_set for vowel in VOWELS.values()}
    for name in LEXICAL_SETS:
        for unit in LIST_UNITS:
            assert len(load_word_list(name).items[unit]) >= LEAST[unit][name not in full]


def test_syllables_are_consonants_and_a_vowel() -> None:
    for item in load_word_list("goose").items[Unit.SYLLABLE]:
        assert item.phones[-1].symbol == "UW"
        assert item.hint


def test_unknown_set_and_passage() -> None:
    with pytest.raises(OptionError, match="GOOSE"):
        load_word_list("MOOSE")
    with pytest.raises(OptionError, match=DEFAULT_PASSAGE):
        load_passage("nowhere")


# --------------------------------------------------------------------------
# The validator must find what is broken.


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    for path in resource_folder("corpora").glob("*/*.md"):
        target = tmp_path / path.parent.name / path.name
        target.parent.mkdir(exist_ok=True)
        target.write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
    return tmp_path


def swap(old: str, new: str) -> Callable[[str], str]:
    def edit(text: str) -> str:
        assert old in text
        return text.replace(old, new, 1)

    return edit


BREAKS = [
    ("passages/open-day.md", swap("museum", "muzeeum"), "'muzeeum' is not in the dictionary"),
    ("passages/open-day.md", swap("ninety", "90"), "character '9'"),
    ("passages/open-day.md", swap("step = 1", "step = 4"), "step is 4"),
    ("passages/open-day.md", swap("step = 1", "step = true"), "step is True"),
    ("passages/open-day.md", swap("title", "titel"), "no title"),
    ("passages/open-day.md", swap("+++\n", ""), "no front matter"),
    ("passages/open-day.md", swap('note = "', "note = "), "isn't TOML"),
    (
        "passages/open-day.md",
        swap(". It is a small museum", " and it is a small but nice museum"),
        "a sentence of",
    ),
    ("passages/open-day.md", lambda text: text[: text.index("Come in")], "words; write 80"),
    ("passages/the-bakery.md", swap("note", "balanced = true\nnote"), "distance"),
    ("passages/the-map-on-the-wall.md", swap("turquoise", "purple"), "OY unstressed"),
    (
        "passages/lost-and-found.md",
        lambda text: text.replace("tooth", "shoe").replace("things", "bits"),
        "TH never occurs",
    ),
    (
        "prompts/food-1.md",
        swap("Just tea and a {cookie|biscuit}.", "Tea."),
        "1 words in the easier",
    ),
    (
        "prompts/food-1.md",
        swap("I'd eat it cold", "And " * 9 + "I'd eat it cold"),
        "a sentence of",
    ),
    (
        "prompts/food-1.md",
        swap("I'd eat it cold if I had to.", "Oh! " * 9),
        "sentences in the fuller",
    ),
    ("prompts/food-1.md", swap("## tea", "## breakfast"), "used 2 times"),
    ("prompts/food-1.md", swap("## tea", "## My Tea"), "use lower-case"),
    ("prompts/food-1.md", swap("What did you have for breakfast?\n\n", ""), "2 paragraphs"),
    (
        "prompts/food-1.md",
        swap("What did you have for breakfast?", "How do you take your tea or your coffee?"),
        "change one",
    ),
    (
        "prompts/food-1.md",
        swap("I can't eat nuts.\n", "It's delicious, but I'm full.\n"),
        "change one",
    ),
    ("prompts/food-1.md", swap("{cookie|biscuit}", "{cookie/biscuit}"), "a lone '{'"),
    ("prompts/food-1.md", swap("{favorite|favourite}", "{favorite|}"), "a lone '{'"),
    ("prompts/food-1.md", swap("{cookie|biscuit}", "{cuckie|biscuit}"), "'cuckie' is not in the"),
    (
        "prompts/food-1.md",
        swap("What did you have for", "What is a good"),
        "isn't about the client",
    ),
    ("prompts/food-1.md", swap("Just tea and a", "Just tea at Anna's and a"), "the name 'Anna'"),
    ("prompts/food-1.md", swap("I'd eat it cold", "I'd use my voice"), "has a telling word"),
    ("prompts/food-1.md", lambda text: text[: text.index("## tea")], "5 prompts on food"),
    (
        "prompts/food-1.md",
        swap("I'd eat it cold if I had to.", "It's cold"),
        "ends without a mark",
    ),
    ("lists/goose.md", swap("- moon\n", "- bread\n"), "'bread' has GOOSE 0 times"),
    ("lists/goose.md", swap("- moon\n", "moon\n"), "not a list item"),
    ("lists/goose.md", swap("- moon\n", "- blue\n"), "stands there 2 times"),
    ("lists/goose.md", swap("boo = B UW1 (boot)", "boo = B UW1 (bat)"), "does not begin like"),
    ("lists/goose.md", swap("boo = B UW1 (boot)", "boo = B OO1 (boot)"), "unknown phoneme"),
    ("lists/goose.md", swap("boo = B UW1 (boot)", "boo"), "write it as"),
    ("lists/goose.md", swap("boo = B UW1 (boot)", "bee = B IY1 (bee)"), "vowel of the set"),
    ("lists/goose.md", swap("## Words", "## Verses"), "unknown heading"),
]


@pytest.mark.parametrize(("name", "edit", "expected"), BREAKS)
def test_validator_finds(copy: Path, name: str, edit: Callable[[str], str], expected: str) -> None:
    path = copy / name
    path.write_text(edit(path.read_text(encoding="utf-8")), encoding="utf-8")
    found = [str(problem) for problem in validate(copy, cmudict_words())]
    assert any(expected in line for line in found), found


@pytest.mark.parametrize(
    ("edit", "expected"),
    [
        (lambda text: text.replace("'m", " am").replace("'s", " is"), "stiff full form"),
        (lambda text: re.sub(r"'\w+", "", text).replace("n't", "n"), "have a contraction"),
        (lambda text: text.replace("money", "ferry").replace("work", "sea"), "about the sea"),
    ],
)
def test_validator_hears_how_people_talk(
    copy: Path, edit: Callable[[str], str], expected: str
) -> None:
    for path in (copy / "prompts").iterdir():
        path.write_text(edit(path.read_text(encoding="utf-8")), encoding="utf-8")
    assert any(expected in str(problem) for problem in validate(copy, cmudict_words()))


def test_american_and_british_words() -> None:
    american, british = (load_prompts(locale=locale) for locale in Locale)
    assert [p.key for p in american] == [p.key for p in british]
    texts = [
        " ".join(f"{p.question} {p.easier} {p.answer}" for p in found)
        for found in (american, british)
    ]
    assert not re.search(r"[{}|]", "".join(texts))
    # Pairs that dictionaries of both label as American and British (common knowledge).
    for pair in (("favorite", "favourite"), ("apartment", "flat"), ("vacation", "holiday")):
        for text, own, other in zip(texts, pair, reversed(pair), strict=True):
            assert own in split_words(text)
            # A flat road, too.
            assert other == "flat" or other not in split_words(text)
    assert sum(a != b for a, b in zip(american, british, strict=True)) > len(american) / 4


@pytest.mark.parametrize("accent", ["rhotic", "non-rhotic"])
def test_the_pronouncer_knows_every_prompt(engine: Engine, accent: str) -> None:
    doubtful, count = list_doubtful(engine.adapt(accent=accent))
    assert count > 12_000
    assert len(doubtful) <= DOUBT_LIMIT * count, doubtful


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        (f"passages/{DEFAULT_PASSAGE}.md", "it is the default passage"),
        ("passages/a-wet-walk.md", "3 passages at step 1"),
        ("lists/cure.md", "no cure.md"),
    ],
)
def test_validator_misses_files(copy: Path, name: str, expected: str) -> None:
    (copy / name).unlink()
    assert any(expected in str(problem) for problem in validate(copy, cmudict_words()))


def test_overrides_are_words_too(copy: Path) -> None:
    path = copy / "passages/open-day.md"
    path.write_text(path.read_text(encoding="utf-8").replace("Ruby", "Zelbrith"), encoding="utf-8")
    assert validate(copy, cmudict_words())
    extra = {"zelbrith": (parse_phones("Z EH1 L B R IH0 TH"),)}
    assert validate(copy, cmudict_words(), extra) == ()


def test_not_utf8(copy: Path) -> None:
    (copy / "passages/open-day.md").write_bytes(b"+++\n\xff")
    assert any("UTF-8" in str(problem) for problem in validate(copy, cmudict_words()))
    with pytest.raises(InputError, match=r"open-day\.md, line 1"):
        read_corpus_file(copy / "passages/open-day.md")


# --------------------------------------------------------------------------
# Properties

SHARES = st.dictionaries(
    st.sampled_from(sorted({*VOWELS, *CONSONANTS})), st.floats(0.01, 1), min_size=1
).map(lambda d: {k: v / sum(d.values()) for k, v in d.items()})


@settings(max_examples=60, derandomize=True, deadline=None)
@given(SHARES, SHARES, SHARES)
def test_total_variation_is_a_metric(
    p: dict[str, float], q: dict[str, float], r: dict[str, float]
) -> None:
    near = 1e-9
    assert total_variation(p, p) == 0
    assert total_variation(p, q) == pytest.approx(total_variation(q, p))
    assert -near <= total_variation(p, q) <= 1 + near
    assert total_variation(p, r) <= total_variation(p, q) + total_variation(q, r) + near


@settings(max_examples=100, derandomize=True, deadline=None)
@given(st.text('+=\n #-.azé"01[]', max_size=200))
def test_any_file_is_read_or_refused(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    file = tmp_path_factory.mktemp("corpora") / "x.md"
    file.write_text("+++\n" + text, encoding="utf-8")
    message = ""
    try:
        parse_prompts(read_corpus_file(file))
    except DrillgenError as error:
        message = str(error)
    assert "\n" not in message
    assert not message or re.search(r"line \d+", message)


def test_sentences_cover_the_text() -> None:
    for passage in load_passages():
        joined = " ".join(split_sentences(passage.text))
        assert split_words(joined) == split_words(passage.text)
