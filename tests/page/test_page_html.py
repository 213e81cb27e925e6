"""The practice page as a file: what is in it, and what can't get in."""

from __future__ import annotations

import base64
import hashlib
import re
from collections import Counter
from functools import cache
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet_factory import make_drill

import drillgen
from drillgen.core.accents import list_accents
from drillgen.core.errors import OptionError
from drillgen.core.options import DrillOptions
from drillgen.core.pitch import parse_pitch
from drillgen.core.printable import clean
from drillgen.core.resources import data_file
from drillgen.core.values import Run, VersionKind, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.sheets.content import Word, group_words
from drillgen.sheets.practice_page import cut_chunks, make_practice_page
from drillgen.write.fonts import font_folder
from drillgen.write.page import _MODULES, _WORKLET, join_modules, read_page, render_page
from drillgen.write.page_fonts import FACES, LEVELS, choose_fonts

VOID = {"meta", "input", "br", "path"}


class Reader(HTMLParser):
    """What a browser would make of a page: its elements, and the words of each version."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: Counter[str] = Counter()
        self.attributes: set[str] = set()
        self.open: list[tuple[str, str]] = []
        self.words: list[list[str]] = []
        self.originals: list[list[str]] = []
        self.title = ""
        self.headings: list[str] = []
        self.visible: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        name = values.get("class") or ""
        self.tags[tag] += 1
        self.attributes |= set(values)
        self.visible += [value for key, value in attrs if key == "aria-label" and value]
        if tag not in VOID:
            self.open.append((tag, name))
        if tag == "article":
            self.words.append([])
            self.originals.append([])
        elif tag == "span" and self.open[-2:-1] == [("span", "words")]:
            self.words[-1].append("")
        elif tag == "small":
            self.originals[-1].append("")
        elif tag in ("h1", "h3"):
            self.headings.append("")

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open, tag
            assert self.open.pop()[0] == tag

    def handle_data(self, data: str) -> None:
        names = {name for _, name in self.open}
        tags = [tag for tag, _ in self.open]
        if "small" in tags:
            self.originals[-1][-1] += data
        elif "words" in names and "em" not in tags and self.open[-1][1] != "words":
            self.words[-1][-1] += data
        elif "title" in tags:
            self.title += data
        elif {"h1", "h3"} & set(tags):
            self.headings[-1] += data
        if not {"style", "script"} & set(tags):
            self.visible.append(data)


def make_page(text: str, *, title: str = "", rungs: int = 1, discreet: bool = False) -> str:
    sheet = Worksheet(
        (make_drill(text, rungs=rungs),), title, parse_pitch("G3"), discreet=discreet
    )
    return render_page(make_practice_page(sheet))


@pytest.fixture(scope="module")
def page(harbour: Worksheet) -> str:
    return render_page(make_practice_page(harbour))


@pytest.mark.parametrize(("rungs", "discreet"), [(0, False), (2, True)])
def test_a_page_tells_its_drill(rungs: int, discreet: bool) -> None:
    """What `drillgen check` reads out of a page says the same as the text."""
    text = 'Two boats & a <kite>, said "Ann", at 5.20.\n\nWho’d go? The well-known captain.'
    options = DrillOptions(accent="non-rhotic", target="ɑ", rungs=rungs)
    sheet = Worksheet((drillgen.make_drill(text, options),), "", None, discreet=discreet)
    page = render_page(make_practice_page(sheet))
    assert read_page(page) == (text, "non-rhotic", "AA", discreet)
    assert read_page('<html><p class="s">Two boats.</p></html>') is None


@pytest.mark.parametrize("discreet", [False, True])
def test_warm_ups_are_those_of_the_plan(discreet: bool) -> None:
    page = render_page(
        make_practice_page(Worksheet((make_drill("Two boats."),), "", None, discreet=discreet))
    )
    texts = choose_wording(discreet).plan.warm_up_texts
    assert len(texts) == 5
    assert all(f"<li>{text}</li>" in page for text in texts)


def test_same_sheet_same_text(harbour: Worksheet, page: str) -> None:
    assert render_page(make_practice_page(harbour)) == page


def test_policy_names_exactly_what_is_in_the_page(page: str) -> None:
    """Content Security Policy Level 3, W3C: hashes of inline style and script."""
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', page)
    assert policy
    rules = dict(
        rule.split(" ", 1) for rule in policy[1].replace("&#39;", "'").split("; ") if rule
    )
    assert rules["default-src"] == "'none'"
    assert rules["base-uri"] == rules["form-action"] == "'none'"
    assert rules["font-src"] == rules["media-src"] == "data:"
    for rule, tag in (("style-src", "style"), ("script-src", "script")):
        (content,) = re.findall(rf"<{tag}>(.*?)</{tag}>", page, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in rules[rule].split()
        assert "'unsafe" not in rules[rule]
    assert set(rules) == {
        "default-src", "script-src", "style-src", "font-src", "media-src", "base-uri",
        "form-action",
        "require-trusted-types-for",
    }  # fmt: skip


def test_nothing_comes_from_outside(page: str) -> None:
    assert not re.findall(r"(?:https?:)?//[\w.-]+\.\w+", re.sub(r"base64,[\w+/=]+", "", page))
    seen = Reader(page)
    assert seen.attributes.isdisjoint({"src", "href", "action", "style"})
    assert not [name for name in seen.attributes if name.startswith("on")]
    assert set(re.findall(r"url\(\"?(.{5})", page)) == {"data:"}


def test_nothing_is_stored_or_sent_by_the_script(page: str) -> None:
    script = re.findall(r"<script>(.*?)</script>", page, re.DOTALL)[0]
    for word in (
        "sessionStorage", "indexedDB", "cookie", "fetch", "XMLHttpRequest",
        "sendBeacon", "WebSocket", "innerHTML", "insertAdjacent", "eval(",
        "new Function", "document.write",
    ):  # fmt: skip
        assert word not in script
    # The log, and after a question only: test_page_session.py.
    assert script.count("localStorage") == 2
    assert script.count("setItem") == 1
    # Older Safari and Firefox know it not.
    assert ":has(" not in page


def test_no_trace_of_the_machine(page: str) -> None:
    assert str(Path.home()) not in page
    assert "drillgen" not in page.lower()
    assert re.search(r"\b20[0-9]{2}-[0-9]{2}-[0-9]{2}\b", page) is None


def test_scripts_have_no_comments_in_the_page() -> None:
    for names in (_MODULES, _WORKLET):
        text = join_modules(names)
        assert "/*" not in text
        assert not re.search(r"(?<!:)// ", text)
        assert "import " not in text
        assert "export " not in text


# What a user writes stays text

_MARKUP = st.sampled_from(
    ("<b>", "</p>", "<script>alert(1)</script>", "<!--", "-->", "&amp;", "&lt", "]]>", '"', "'",
     "{{ 7*7 }}", "{% raw %}", "</style>", "</title>", "<svg/onload=alert(1)>", "\\", "\x00", "—")
)  # fmt: skip
_TEXTS = st.lists(
    st.one_of(
        st.text(max_size=12), _MARKUP, st.sampled_from(("boat", "harbour", " ", ". ", "? "))
    ),
    min_size=1,
    max_size=8,
).map("".join)


@cache
def read_plain() -> Reader:
    return Reader(make_page("Usually boats."))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(_TEXTS, st.one_of(_MARKUP, st.text(max_size=12)))
def test_user_text_is_text(text: str, title: str) -> None:
    drill = make_drill(text + " boat.", rungs=1)
    seen = Reader(render_page(make_practice_page(Worksheet((drill,), title, None))))
    assert not seen.open
    plain = read_plain()
    assert set(seen.tags) <= set(plain.tags)
    assert seen.attributes <= plain.attributes
    assert seen.tags["script"] == plain.tags["script"]
    assert seen.headings[0] == seen.title
    assert clean(seen.title) == (clean(title) or "Resonance drill")
    order = [VersionKind.FULL, VersionKind.PARTIAL, VersionKind.MARKED]
    versions = sorted(drill.versions, key=lambda version: order.index(version.kind))
    for version, words in zip(versions, seen.words, strict=True):
        expected = [
            word.text
            for phrase, line in zip(drill.phrases, version.lines, strict=True)
            for word in group_words(phrase, line)
        ]
        assert [clean(word) for word in words] == [clean(word) for word in expected]


# Syllables


@pytest.mark.parametrize(
    ("runs", "syllables", "kind", "expected"),
    [
        pytest.param(
            [("h",), ("ee", "v"), ("r",), ("-",), ("b",), ("ee", "v")],
            2, VersionKind.FULL, [("heer-", 1), ("bee", 1)], id="respelling",
        ),
        pytest.param(
            [("tw",), ("ee", "v"), ("n-t",), ("ee", "v"), (" ",), ("thr",), ("ee", "v")],
            3, VersionKind.FULL, [("tween-", 1), ("tee ", 1), ("three", 1)], id="two words",
        ),
        pytest.param([("usually",)], 4, VersionKind.PARTIAL, [("usually", 4)], id="kept word"),
        pytest.param([("half-broken",)], 3, VersionKind.PARTIAL, [("half-broken", 3)],
                     id="kept compound"),
        pytest.param(
            [("h",), ("a", "v"), ("rb",), ("ou", "v"), ("r",)],
            2, VersionKind.MARKED, [("har", 1), ("bour", 1)], id="marked word",
        ),
        pytest.param(
            [("m",), ("o", "v"), ("th",), ("e", "v"), ("r",)],
            2, VersionKind.MARKED, [("mo", 1), ("ther", 1)], id="digraph goes on",
        ),
        pytest.param(
            [("f",), ("i", "v"), ("re",)], 2, VersionKind.MARKED, [("fire", 2)],
            id="one letter, two syllables",
        ),
        pytest.param(
            [("f",), ("i", "v"), ("v",), ("e", "v")], 1, VersionKind.MARKED, [("five", 1)],
            id="two letters, one syllable",
        ),
        pytest.param([("—",)], 0, VersionKind.FULL, [("—", 0)], id="nothing said"),
        pytest.param(
            [("“",), ("b",), ("ee", "v"), ("t",), (".”",)], 1, VersionKind.FULL,
            [("“beet.”", 1)], id="quotes stay with the word",
        ),
        pytest.param(
            [("d",), ("o", "v"), ("n’t",)], 1, VersionKind.MARKED, [("don’t", 1)], id="apostrophe",
        ),
    ],
)  # fmt: skip
def test_chunks(
    runs: list[tuple[str, ...]],
    syllables: int,
    kind: VersionKind,
    expected: list[tuple[str, int]],
) -> None:
    word = Word("", tuple(Run(run[0], vowel=len(run) > 1) for run in runs))
    chunks = cut_chunks(word, syllables, kind)
    assert [("".join(s.text for s in c.spans), c.syllables) for c in chunks] == expected


def test_beats_are_the_syllables_of_the_text(harbour: Worksheet, page: str) -> None:
    (drill,) = harbour.drills
    vowels = sum(
        phone.is_vowel
        for readings in drill.readings
        for reading in readings
        for word in reading
        for phone in word.phones
    )
    for article in re.findall(r"<article.*?</article>", page, re.DOTALL):
        beats = re.findall(r'<i(?: data-n="(\d+)")?>', article)
        assert sum(int(count or 1) for count in beats) == vowels


# Wording


def test_discreet_page_tells_nothing() -> None:
    text = make_page("The harbour wakes. Who buys the first loaf?", rungs=2, discreet=True)
    seen = Reader(text)
    assert seen.title == "Reading practice"
    words = re.findall(r"[a-z]+", " ".join(seen.visible).lower())
    settings_text = re.search(r'id="settings">(.*?)</script>', text)
    assert settings_text
    words += re.findall(r"[a-z]+", settings_text[1].lower())
    # Names of the script's own settings, in code only: "traceWait" and the like.
    telling = {word for word in words if word.startswith(choose_wording(True).telling)}
    assert telling == set()


@pytest.mark.parametrize("rate", [0, 0.49, 4.01, float("nan"), float("inf")])
def test_rates_out_of_range(harbour: Worksheet, rate: float) -> None:
    with pytest.raises(OptionError, match=r"0\.5 to 4 syllables"):
        make_practice_page(harbour, rate=rate)


def test_text_without_a_word() -> None:
    text = make_page("…")
    assert "There is nothing to read" in text
    assert Reader(text).words == []


def test_marks_alone_end_the_phrase_before() -> None:
    seen = Reader(make_page("The boat. — ! — The gulls."))
    assert seen.words[0][:2] == ["dhee", "beet."]
    assert "".join(seen.words[0]).count("!") == 1


# Font


@pytest.mark.parametrize(
    "text", ["plain words", "café naïve €5", "Nguyễn, Łukasz, Dvořák", "ɪʊəɹɡθðʃʒŋɛæɑɔʌˈˌ", "ЖΩ"]
)
def test_fonts_have_what_the_text_needs(text: str) -> None:
    for face in choose_fonts(text + "港"):
        with TTFont(BytesIO(face.data)) as font:
            covered = set(map(chr, font.getBestCmap()))
        assert covered >= {*map(chr, range(0x20, 0x7F)), *"‖‿˘“”–—…", *text}


def test_common_words_take_the_smallest_font() -> None:
    sizes = [len(choose_fonts(text)[0].data) for text in ("a", "é", "ř", "Ж")]
    assert sizes == sorted(set(sizes))
    assert choose_fonts("港") == choose_fonts("a")


def test_a_page_without_sound_stays_small() -> None:
    """A hundred words in three versions; the key needs no larger font in any accent."""
    text = "The ferry leaves at seven, and nobody who has a choice would miss it. " * 7
    for accent in list_accents():
        drill = drillgen.make_drill(text, DrillOptions(accent=accent))
        page = make_practice_page(Worksheet((drill,), "", parse_pitch("G3")))
        assert len(render_page(page).encode()) < 140_000


def test_the_cut_fonts_are_those_of_the_font_files() -> None:
    """Every level has the code points of its ranges that the package's font has."""
    for level, ranges in enumerate(LEVELS):
        for weight, name in FACES:
            with TTFont(font_folder() / name) as font:
                whole = set(font.getBestCmap())
            with TTFont(data_file(f"fonts/page-{level}-{weight}.woff2")) as font:
                cut = set(font.getBestCmap())
            assert cut == {c for c in whole if any(a <= c <= b for a, b in ranges)}


def test_changed_font_gives_up_the_reserved_name() -> None:
    """SIL Open Font License 1.1, condition 3; the copyright notice stays (condition 2)."""
    for face in choose_fonts("Ж"):
        with TTFont(BytesIO(face.data)) as font:
            names = {record.nameID: str(record) for record in font["name"].names}
        for number in (1, 3, 4, 6):
            assert "Source" not in names[number]
        assert "Copyright" in names[0]
        assert "Open Font License" in names[13]
