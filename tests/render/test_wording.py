"""The sentences of a sheet, and what a discreet one never says."""

from __future__ import annotations

import re
import tomllib
from io import BytesIO
from pathlib import Path

import msgspec
import pypdf
import pytest
from sheet_factory import make_drill, make_sheet, render_markdown, render_pdf, render_text

from drillgen.core.errors import ResourceError
from drillgen.core.options import PageOptions
from drillgen.core.resources import data_file
from drillgen.core.take import Doubt
from drillgen.core.values import Delivery, Worksheet
from drillgen.core.wording import FILE, SECTIONS, Wording, choose_wording, read_wordings

ORDINARY, DISCREET = choose_wording(False), choose_wording(True)
TELLING = [
    line
    for line in (Path(__file__).parent / "data" / "discreet_words.tsv").read_text().splitlines()
    if not line.startswith("#")
]
PATTERN = re.compile(r"\b(" + "|".join(map(re.escape, TELLING)) + ")", re.IGNORECASE)


def all_sentences(wording: Wording) -> str:
    """All printed texts; fields are filled, never printed, and names of our own are no text."""
    found: list[str] = []

    def visit(value: object) -> None:
        if isinstance(value, dict):
            visit(tuple(value.values()))
        elif isinstance(value, list | tuple):
            for part in value:
                visit(part)
        elif isinstance(value, str):
            found.append(re.sub(r"\{\w+\}", "", value))

    texts: dict[str, object] = msgspec.to_builtins(wording)
    texts |= {name: msgspec.to_builtins(getattr(wording, name)) for name in SECTIONS}
    del texts["telling"]
    texts["deliveries"] = [
        (text.name, text.instruction, text.free_instruction) for text in wording.deliveries
    ]
    visit(texts)
    return " ".join(found)


def pdf_words(data: bytes) -> str:
    reader = pypdf.PdfReader(BytesIO(data))
    return "\n".join(page.extract_text() for page in reader.pages)


def discreet_sheet() -> Worksheet:
    text = "Bread and tea. Who buys apples?"
    sheet = make_sheet(text, title="", discreet=True, show_ipa=True)
    drills = (make_drill(text, rungs=2), make_drill(text + " Pellow.", title="Quay"))
    return Worksheet(drills, "", sheet.pitch, discreet=True)


def test_the_list_of_telling_words_finds_them_in_the_ordinary_wording() -> None:
    found = {word.lower() for word in PATTERN.findall(all_sentences(ORDINARY))}
    assert {"voice", "bright", "forward", "tongue", "vowel", "pitch", "clinic", "chant"} <= found


@pytest.mark.parametrize("kind", ["markdown", "text", "pdf"])
def test_a_discreet_sheet_never_says_what_it_is_for(kind: str) -> None:
    sheet = discreet_sheet()
    if kind == "markdown":
        shown = render_markdown(sheet)
    elif kind == "text":
        shown = render_text(sheet)
    else:
        shown = pdf_words(render_pdf(sheet, PageOptions()))
    assert "Reading practice" in shown
    assert PATTERN.findall(shown) == []


def test_hints_from_elsewhere_are_kept_where_they_tell_nothing() -> None:
    discreet, ordinary = (
        render_text(make_sheet("Then get it.", discreet=flag)) for flag in (True, False)
    )
    assert "with voice" in ordinary
    assert "with voice" not in discreet
    assert "always hard" in discreet


def test_a_discreet_file_holds_no_telling_metadata() -> None:
    reader = pypdf.PdfReader(BytesIO(render_pdf(discreet_sheet(), PageOptions())))
    assert reader.metadata is not None
    assert reader.xmp_metadata is not None
    raw = reader.xmp_metadata.stream.get_data().decode()
    assert PATTERN.findall(raw + str(dict(reader.metadata))) == []
    assert reader.metadata.title == "Reading practice"


def test_the_discreet_wording_is_neutral() -> None:
    assert PATTERN.findall(all_sentences(DISCREET)) == []


@pytest.mark.parametrize("wording", [ORDINARY, DISCREET], ids=["ordinary", "discreet"])
def test_both_wordings_are_whole(wording: Wording) -> None:
    assert [text.delivery for text in wording.deliveries] == list(Delivery)
    assert set(wording.take.doubt_texts) == set(Doubt)
    assert wording.is_discreet is (wording is DISCREET)
    for name in (*wording.__struct_fields__, *SECTIONS):
        assert getattr(wording, name) or name in ("telling", "is_discreet"), name


def test_sections_are_all_of_the_file_and_each_is_of_its_wording() -> None:
    text = data_file(FILE).read_text(encoding="utf-8")
    tables = tomllib.loads(text).keys() - set(Wording.__struct_fields__)
    assert tables == SECTIONS.keys()
    assert ORDINARY.plan != DISCREET.plan
    for name in SECTIONS:
        assert read_wordings(text, name) == (getattr(ORDINARY, name), getattr(DISCREET, name))


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('foot = "Reading practice"', "", "missing required field `foot`"),
        ('foot = "Reading practice"', 'foot = "A"\nfeet = "B"', "unknown field `feet`"),
        ('foot = "Reading practice"', "foot = 7", "`$.foot`"),
        ("{page} of", "{pgae} of", r"page.both takes in {pgae}, which is no field of it"),
        ("{page} of", "of", "page never takes in {page}"),
        ('title.discreet = "Reading practice"', "", "title needs ordinary and discreet, or both"),
        ('foot = "Reading practice"', "foot = 'A", "wording.toml: "),
    ],
)
def test_a_wording_that_is_not_whole_is_refused(old: str, new: str, message: str) -> None:
    text = data_file(FILE).read_text(encoding="utf-8")
    assert old in text
    with pytest.raises(ResourceError) as caught:
        read_wordings(text.replace(old, new, 1))
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("[plan]\n", "[plan]\nfoot = 'A'\n", "unknown field `foot`"),
        ("[plan]\n", "[plans]\n", "missing required field"),
        ("[practice]\n", "[practise]\n", "practice stands behind plan"),
    ],
)
def test_a_section_that_is_not_whole_is_refused(old: str, new: str, message: str) -> None:
    text = data_file(FILE).read_text(encoding="utf-8")
    assert old in text
    with pytest.raises(ResourceError) as caught:
        read_wordings(text.replace(old, new, 1), "plan")
    assert message in str(caught.value)


# Common practice in voice care: stop at pain, rest, water, and a doctor for
# hoarseness that lasts longer than two weeks; the clinician has the last word.
@pytest.mark.parametrize(
    "word",
    ["jaw", "neck", "hurt", "rest", "water", "two weeks", "doctor", "professional|clinician"],
)
@pytest.mark.parametrize("wording", [ORDINARY, DISCREET], ids=["ordinary", "discreet"])
def test_the_usual_cautions_are_there(wording: Wording, word: str) -> None:
    assert re.search(word, " ".join((*wording.caution_texts, wording.disclaimer)))


@pytest.mark.parametrize("wording", [ORDINARY, DISCREET], ids=["ordinary", "discreet"])
def test_overshoot_and_ease_back(wording: Wording) -> None:
    assert "ease back" in " ".join(wording.hints)
    assert "slowly" in " ".join(wording.hints)
