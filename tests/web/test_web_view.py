"""What the preview shows, and that text stays text."""

from __future__ import annotations

from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.options import DrillOptions
from drillgen.core.printable import clean
from drillgen.core.values import VersionKind
from drillgen.core.wording import choose_wording
from drillgen.sheets.content import list_stretches
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import parse_overrides
from drillgen.web.forms import Choices, read_choices
from drillgen.web.limits import Limits
from drillgen.web.view import find_stretch, make_preview, sort_versions
from drillgen.web.workshop import Workshop, make_worksheet
from drillgen.write.templates import load_templates

TEXT = "Two boats, half-full, left at 3:30. They came back!\n\nWho saw them?"

ORDINARY, DISCREET = choose_wording(False), choose_wording(True)


@pytest.fixture(scope="module")
def engine(lexicon: Lexicon) -> Engine:
    return Engine.load(lexicon=lexicon)


def test_words_keep_their_places(engine: Engine) -> None:
    drill = make_drill(TEXT, DrillOptions(rungs=2), engine=engine)
    preview = make_preview(drill, ORDINARY, most_words=100)
    assert [s.plain for s in preview.sentences] == [
        "Two boats, half-full, left at 3:30.",
        "They came back!",
        "Who saw them?",
    ]
    assert [s.opens_paragraph for s in preview.sentences] == [True, False, True]
    words = [word for sentence in preview.sentences for word in sentence.words]
    assert [word.original for word in words] == TEXT.split()
    assert [TEXT[word.at :].split()[0] for word in words] == TEXT.split()
    for word in words:
        found = find_stretch(drill, word.at)
        assert found is not None
        row, columns = found
        assert "".join(drill.phrases[row].tokens[i].text for i in columns) == word.original
    assert find_stretch(drill, 1) is None
    assert find_stretch(drill, 10_000) is None


def test_a_line_of_verse_shows_where_to_breathe(engine: Engine) -> None:
    """As the sheet does; prose has a line for each breath, and no bar."""
    verse = (
        "The rain came down, on slate and stone,\nand I was glad, and quite alone;\n"
        "the kettle hummed its little tune\nand night had come, an hour too soon."
    )
    drill = make_drill(verse, engine=engine)
    (sentence,) = make_preview(drill, ORDINARY, most_words=100).sentences
    bars = [word.original for line in sentence.lines for word in line if word.bar]
    assert bars == ["down,", "come,"]
    assert len(sentence.lines) == 4
    prose = make_drill(verse.replace("\n", " "), engine=engine)
    shown = make_preview(prose, ORDINARY, most_words=100).sentences
    assert not [word for sentence in shown for word in sentence.words if word.bar]


def test_every_word_looks_one_way_at_every_place(engine: Engine) -> None:
    drill = make_drill(TEXT, DrillOptions(rungs=4), engine=engine)
    preview = make_preview(drill, ORDINARY, most_words=100)
    order = sort_versions(drill.versions)
    assert [v.kind for v in order] == [
        VersionKind.MARKED,
        *[VersionKind.PARTIAL] * 4,
        VersionKind.FULL,
    ]
    assert [v.share for v in order] == sorted(v.share for v in order)
    for sentence in preview.sentences:
        for word in sentence.words:
            places = sorted(place for layer in word.layers for place in layer.places)
            assert places == list(range(6))
    first = preview.sentences[0].words[0]
    looks = {place: layer for layer in first.layers for place in layer.places}
    assert "".join(p.text for p in looks[0].pieces) == "Two"
    assert not looks[0].changed
    assert "".join(p.text for p in looks[5].pieces) == "tee"
    assert looks[5].changed


def test_stretches_part_as_the_renderers_do(engine: Engine) -> None:
    drill = make_drill("a  b-c …d\u00a0e", engine=engine)
    found = [
        "".join(phrase.tokens[i].text for i in stretch)
        for phrase in drill.phrases
        for stretch in list_stretches(phrase)
    ]
    assert found == ["a", "b-c", "…d", "e"]


def test_long_texts_are_cut_at_a_sentence(engine: Engine) -> None:
    drill = make_drill("One two three. Four five six. Seven.", engine=engine)
    cut = make_preview(drill, ORDINARY, most_words=4)
    assert len(cut.sentences) == 2
    assert (cut.cut, cut.words) == (6, 7)
    whole = make_preview(drill, ORDINARY, most_words=7)
    assert (len(whole.sentences), whole.cut) == (3, 0)


def test_doubts_point_at_their_words(engine: Engine) -> None:
    drill = make_drill("We met Qerzhnik’s friend (Qerzhnik).", engine=engine)
    preview = make_preview(drill, ORDINARY, most_words=100)
    assert preview.doubts
    words = {word.at: word for s in preview.sentences for word in s.words}
    assert all(words[doubt.at].doubtful for doubt in preview.doubts)
    assert not words[0].doubtful


def test_discreet_names(engine: Engine) -> None:
    drill = make_drill("Two boats.", DrillOptions(rungs=2), engine=engine)
    preview = make_preview(drill, DISCREET, most_words=10)
    names = " ".join(f"{v.name} {v.note}" for v in preview.versions).lower()
    assert not any(word in names for word in DISCREET.telling)


def test_only_the_step_shown_goes_on_the_sheet(engine: Engine) -> None:
    def kinds(shown: int) -> list[tuple[VersionKind, int]]:
        fields = {"text": TEXT, "rungs": "3", "shown": str(shown), "steps": "shown"}
        choices = read_choices(fields, Limits())
        drill = make_drill(choices.passage, choices.drill, engine=engine)
        sheet = make_worksheet(drill, choices)
        return [(v.kind, v.rung) for v in sheet.drills[0].versions]

    assert kinds(4) == kinds(0) == [(VersionKind.FULL, 0), (VersionKind.MARKED, 0)]
    assert kinds(2)[1] == (VersionKind.PARTIAL, 0)
    choices = read_choices({"text": TEXT, "rungs": "3"}, Limits())
    drill = make_drill(choices.passage, choices.drill, engine=engine)
    assert len(make_worksheet(drill, choices).drills[0].versions) == 5


# Text stays text


ALLOWED = frozenset(
    ("h3", "div", "p", "b", "u", "span", "details", "summary", "ul", "ol", "li", "a", "button")
)

nasty = st.one_of(
    st.sampled_from(
        [
            "<script>alert(1)</script>",
            "<img src=x onerror=alert(1)>",
            "</textarea><script>",
            '" onfocus=alert(1) x="',
            "' autofocus onfocus='x",
            "{{ 7*7 }} {% raw %}",
            "&lt;b&gt; &amp;amp;",
            "javascript:alert(1)",
            "<!-- -->",
            "]]>",
            "\u202egnp.exe",
            "a\x00b\x1b[31m",
            "\ud7ff\ue000 \U0001f600",
        ]
    ),
    st.text(max_size=30),
)


web_templates = cache(partial(load_templates, "web"))


@given(parts=st.lists(nasty, min_size=1, max_size=5), title=nasty)
@settings(max_examples=60, derandomize=True, deadline=None)
def test_any_text_comes_back_as_text(
    parts: list[str], title: str, outline: Any, workshop: Workshop
) -> None:
    text = " tide ".join(parts)
    choices = Choices(text=text, title=clean(title)[:200])
    lane = workshop.choose_lane(text)
    preview = workshop.preview(choices, lane)
    templates = web_templates()
    html = templates.get_template("preview.html.j2").render(
        preview=preview, state=choices, problem=""
    )
    page = outline(html)
    assert set(page.tags) <= ALLOWED
    assert not [name for _, name, _ in page.attributes if name.startswith("on")]
    drill = workshop.make(choices, lane)
    plain = "".join(t.text for p in drill.phrases for t in p.tokens)
    title_shown = clean(choices.passage.title) if preview.sentences else ""
    assert "".join(page.inside("h3", "title")) == title_shown
    assert " ".join(page.inside("p", "unseen")).split() == clean(plain).split()
    if preview.sentences:
        shown = [w for s in preview.sentences for w in s.words if w.said]
        for word in shown[:1]:
            panel = workshop.explain(choices, word.at, lane)
            said = templates.get_template("word.html.j2").render(panel=panel, state=choices)
            inner = outline(said)
            assert "script" not in inner.tags
            assert "img" not in inner.tags
            values = {v for tag, name, v in inner.attributes if (tag, name) == ("input", "value")}
            assert choices.text in values
            assert not [n for _, n, _ in inner.attributes if n.startswith("on")]


@pytest.fixture(scope="module")
def workshop(lexicon: Lexicon, tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    path: Path = tmp_path_factory.mktemp("words") / "words.txt"
    return Workshop(path, lexicon=lexicon)


def test_the_text_box_holds_the_text(visitor: Any, outline: Any) -> None:
    # HTML drops a first line break in a text box: it must not be ours.
    for text in ("\n\nTide.", "</textarea><b>x</b>", "a\nb\n", "&amp; &#60;"):
        page = outline(visitor.post("/", {"text": text, "title": '"><i>'}).text)
        (box,) = page.inside("textarea")
        assert box.removeprefix("\n") == text
        titles = [v for tag, n, v in page.attributes if tag == "input" and n == "value"]
        assert '"><i>' in titles
        assert "i" not in page.tags


def test_what_the_word_list_does_is_told(engine: Engine) -> None:
    own = parse_overrides("close  K L OW1 S", "own")
    drill = make_drill("Close the close door.", engine=engine.adapt(overrides=own))
    (note,) = make_preview(drill, ORDINARY, most_words=100).notes
    assert "'close' in one way in all 2 places" in note
    assert make_preview(make_drill(TEXT, engine=engine), ORDINARY, most_words=100).notes == ()
