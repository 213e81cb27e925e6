"""What the page answers: preview, words, downloads, corpora; with and without the script."""

from __future__ import annotations

import io
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest
import soundfile
from pypdf import PdfReader

from drillgen.corpus.reader import load_passages, load_prompts
from drillgen.web.forms import Choices
from drillgen.web.limits import Limits
from drillgen.web.workshop import Lane, Workshop

PART = {"sec-fetch-site": "same-origin", "x-part": "1"}
TEXT = "I read the map. Two boats leave."
OpenPage = Callable[..., Any]


def keep(visitor: Any, at: int, spoken: str, **fields: str) -> httpx.Response:
    answer = visitor.post(
        "/keep", {"text": TEXT, "at": str(at), "spoken": spoken, "part": "1", **fields}
    )
    assert isinstance(answer, httpx.Response)
    return answer


def respelled(outline: Any, html: str, place: int = 2) -> list[str]:
    """What is shown of each word at one place of the slider."""
    found = outline(html).shown_at(place)
    assert isinstance(found, list)
    return found


def test_fresh_page_shows_the_default_passage(visitor: Any) -> None:
    answer = visitor.get("/")
    assert answer.status_code == 200
    assert "The first ferry leaves Pellow Quay" in answer.text
    assert "feerst" in answer.text.replace("<b>", "").replace("</b>", "")
    assert '<html lang="en">' in answer.text


def test_preview_is_the_drill(visitor: Any, outline: Any) -> None:
    answer = visitor.post("/preview", {"text": "Two boats.", "review": "1"}, headers=PART)
    assert answer.status_code == 200
    assert respelled(outline, answer.text) == ["tee", "↘beets."]
    assert respelled(outline, answer.text, 0) == ["Two", "boats."]
    kit = visitor.post("/preview", {"text": "Two boats.", "target": "KIT"})
    assert respelled(outline, kit.text) != ["tee", "↘beets."]


def test_preview_of_nothing(visitor: Any) -> None:
    for text in ("", " \n ", "…", "# "):
        answer = visitor.post("/preview", {"text": text}, headers=PART)
        assert answer.status_code == 200, answer.text
    assert "Paste a text" in visitor.post("/preview", {"text": ""}).text


def test_accents_have_engines_of_their_own(visitor: Any, outline: Any) -> None:
    rhotic = visitor.post("/preview", {"text": "Far harbour."}).text
    other = visitor.post("/preview", {"text": "Far harbour.", "accent": "non-rhotic"}).text
    assert respelled(outline, rhotic) == ["feer", "↘heer-beer."]
    assert respelled(outline, other) != respelled(outline, rhotic)


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"target": "Q"}, "Target 'Q' is unknown"),
        ({"pitch": "H"}, "write G3 or 196."),
        ({"rungs": "99"}, "Rungs must be 0 to 12"),
    ],
)
def test_errors_are_one_line(visitor: Any, fields: dict[str, str], says: str) -> None:
    answer = visitor.post("/preview", {"text": "x", **fields}, headers=PART)
    assert answer.status_code == 422
    assert says in answer.json()["error"]
    page = visitor.post("/", {"text": "x", **fields})
    assert page.status_code == 422
    assert "<h1>Not possible</h1>" in page.text


# Words


def test_word_panel_marks_the_reading_in_use(visitor: Any) -> None:
    answer = visitor.post("/word", {"text": TEXT, "at": "2", "part": "1"})
    assert answer.status_code == 200
    assert "RED" in answer.text
    assert "REED" in answer.text
    assert answer.text.count("used here") == 1
    assert "<mark>read</mark>" in answer.text
    assert "<html" not in answer.text


def test_the_context_marks_this_word_and_no_other(visitor: Any) -> None:
    text = "The map is a  fine map (a). Yes."
    for at, word in ((11, "a"), (19, "map"), (23, "(a).")):
        answer = visitor.post("/word", {"text": text, "at": str(at), "part": "1"}).text
        context = answer.split('<p class="context">')[1].split("</p>")[0]
        assert f"<mark>{word}</mark>" in context
        plain = context.replace("<mark>", "").replace("</mark>", "")
        assert plain == "The map is a fine map (a)."
        assert len(context.split("<mark>")[0]) == len(" ".join(text[:at].split())) + 1


def test_word_panel_of_several_spoken_words(visitor: Any) -> None:
    answer = visitor.post("/word", {"text": "At 3:30.", "at": "3", "part": "1"})
    assert answer.text.count("<form") == 2
    assert "<b>three</b> is said" in answer.text
    assert "<b>thirty</b> is said" in answer.text


@pytest.mark.parametrize("at", ["", "x", "-1", "1", "99999", "9" * 20, "٣"])
def test_no_word_there(visitor: Any, at: str) -> None:
    answer = visitor.post("/word", {"text": TEXT, "at": at, "part": "1"}, headers=PART)
    assert answer.status_code == 422
    assert "press" in answer.json()["error"].lower()


def test_nothing_is_said_there(visitor: Any) -> None:
    answer = visitor.post("/word", {"text": "Tide … turns", "at": "5"}, headers=PART)
    assert answer.status_code == 422
    assert "nothing is said" in answer.json()["error"].lower()


def test_a_kept_word_holds_and_can_be_forgotten(
    visitor: Any, outline: Any, words_file: Path, open_page: OpenPage
) -> None:
    before = visitor.post("/preview", {"text": TEXT}).text
    answer = keep(visitor, 20, "boats", choice="own", own="BAH-tee")
    assert answer.status_code == 200, answer.text
    assert answer.json()["done"].startswith("boats is kept as BAH-tee in every text")
    assert words_file.read_text(encoding="utf-8").startswith("boats  B AA1")
    after = visitor.post("/preview", {"text": TEXT}).text
    assert respelled(outline, before)[5] == "beets"
    assert respelled(outline, after)[5] == "bee-tee"
    # A second visit, in a new process, reads it too.
    assert respelled(outline, open_page().post("/preview", {"text": TEXT}).text)[5] == "bee-tee"
    panel = visitor.post("/word", {"text": TEXT, "at": "20", "part": "1"}).text
    assert "your word list · used here" in panel
    assert "Forget my pronunciation" in panel
    assert keep(visitor, 20, "boats", act="forget").status_code == 200
    assert words_file.read_text(encoding="utf-8") == ""
    assert respelled(outline, visitor.post("/preview", {"text": TEXT}).text)[5] == "beets"


@pytest.mark.parametrize("where", ["", "text", "place"])
def test_a_change_can_be_undone(visitor: Any, words_file: Path, where: str) -> None:
    undo: dict[str, str] = {}
    texts = []
    for own in ("BAH-tee", "BOH"):
        undo = keep(visitor, 20, "boats", choice="own", own=own, where=where).json()["undo"]
        texts.append(words_file.read_text(encoding="utf-8"))
    assert undo["before"] == "B AA1 T IY0"
    # Back to what was there, and back to nothing.
    assert keep(visitor, 20, "boats", act="undo", **undo).status_code == 200
    assert words_file.read_text(encoding="utf-8") == texts[0]
    gone = keep(visitor, 20, "boats", act="forget").json()["undo"]
    assert words_file.read_text(encoding="utf-8") == ""
    assert gone == {"where": where, "before": "B AA1 T IY0", "list": ""}
    assert keep(visitor, 20, "boats", act="undo", **gone).status_code == 200
    assert words_file.read_text(encoding="utf-8") == texts[0]
    first = {"where": where, "before": "", "list": ""}
    assert keep(visitor, 20, "boats", act="undo", **first).json()["done"] == "boats is as it was."
    assert words_file.read_text(encoding="utf-8") == ""


def test_a_reading_can_be_chosen(visitor: Any, words_file: Path) -> None:
    assert keep(visitor, 2, "read", choice="R IY1 D").status_code == 200
    assert words_file.read_text(encoding="utf-8") == "read  R IY1 D\n"


@pytest.mark.parametrize(
    ("own", "line"),
    [
        ("BOH-ts", "boats  B OW1 T S"),
        ("bee TAH", "boats  B IY0 T AA1"),
        ("ˈbiː.tɑ", "boats  B IY1 T AA0"),
        ("/ˈbiː.tɑ/", "boats  B IY1 T AA0"),
        ("b ow1 t s", "boats  B OW1 T S"),
        ("B OW T S", "boats  B OW1 T S"),
    ],
)
def test_own_pronunciations(visitor: Any, words_file: Path, own: str, line: str) -> None:
    answer = keep(visitor, 20, "boats", choice="own", own=own)
    assert answer.status_code == 200, answer.text
    assert words_file.read_text(encoding="utf-8") == line + "\n"


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"choice": "own", "own": ""}, "There is no pronunciation"),
        ({"choice": "own", "own": "/q̃ʘ/"}, ""),
        ({"choice": "own", "own": "QQ1 Z"}, "QQ1"),
        ({"choice": "own", "own": "a\nevil  K AE1 T"}, ""),
        ({"choice": "own", "own": "K AE1 T # note"}, ""),
        ({"choice": "K AE1 T"}, "Choose one"),
        ({}, "Choose one"),
    ],
)
def test_bad_pronunciations(
    visitor: Any, words_file: Path, fields: dict[str, str], says: str
) -> None:
    answer = keep(visitor, 20, "boats", **fields)
    if answer.status_code == 200:
        # What could be read was read as one entry, on one line.
        (line,) = words_file.read_text(encoding="utf-8").splitlines()
        assert line.split()[0] == "boats"
        return
    assert answer.status_code == 422
    assert says in answer.text
    assert 'role="alert"' in answer.text
    assert "your answer, line 1" not in answer.text
    assert not words_file.exists()


def test_only_words_of_the_text_are_kept(visitor: Any, words_file: Path) -> None:
    answer = visitor.post(
        "/keep",
        {"text": TEXT, "at": "20", "spoken": "elsewhere", "choice": "K AE1 T"},
        headers=PART,
    )
    assert answer.status_code == 422
    assert not words_file.exists()


def test_an_unwritable_list_is_named_without_its_path(
    visitor: Any, words_file: Path, tmp_path: Path
) -> None:
    words_file.parent.write_text("in the way", encoding="utf-8")
    answer = keep(visitor, 20, "boats", choice="own", own="BOH")
    assert answer.status_code == 422
    assert "your word list can" in answer.text.lower()
    assert str(tmp_path) not in answer.text
    assert str(tmp_path.name) not in answer.text


def test_a_broken_list_is_reported_and_left_alone(
    visitor: Any, words_file: Path, tmp_path: Path
) -> None:
    words_file.parent.mkdir()
    words_file.write_text("boats  B AA1 T\nsail QQ\n", encoding="utf-8")
    page = visitor.post("/preview", {"text": TEXT}).text
    assert "your word list, line 2" in page
    assert str(tmp_path) not in page
    answer = keep(visitor, 20, "boats", choice="own", own="BEE")
    assert answer.status_code == 200
    assert words_file.read_text(encoding="utf-8") == "boats  B IY1\nsail QQ\n"
    words_file.write_text("boats  B AA1 T\n", encoding="utf-8")
    assert "your word list, line" not in visitor.post("/preview", {"text": TEXT}).text


# Downloads


def test_pdf(visitor: Any) -> None:
    answer = visitor.post(
        "/download", {"text": TEXT, "format": "pdf", "title": "Harbour", "size": "letter"}
    )
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"] == 'attachment; filename="harbour.pdf"'
    assert answer.headers["cache-control"] == "no-store"
    reader = PdfReader(io.BytesIO(answer.content))
    assert float(reader.pages[0].mediabox.width) == pytest.approx(612, abs=1)
    assert "Harbour" in reader.pages[0].extract_text()


def test_markdown_and_practice_page(visitor: Any) -> None:
    markdown = visitor.post("/download", {"text": TEXT, "format": "markdown", "discreet": "1"})
    assert markdown.text.startswith("# Reading practice")
    page = visitor.post("/download", {"text": TEXT, "format": "practice"})
    assert page.headers["content-disposition"].endswith('"practice-page.html"')
    assert page.text.lower().startswith("<!doctype html>")


@pytest.mark.parametrize(
    "fields", [{"text": "", "format": "pdf"}, {"text": "x", "format": "../../etc/passwd"}]
)
def test_no_download(visitor: Any, fields: dict[str, str]) -> None:
    assert visitor.post("/download", fields).status_code == 422


def test_a_sheet_of_too_many_pages(open_page: OpenPage) -> None:
    visitor = open_page(limits=Limits(printed_words=20))
    fields = {"text": "The tide turns here. " * 2, "rungs": "3", "format": "pdf"}
    answer = visitor.post("/download", fields)
    assert answer.status_code == 413
    assert "40 words in all its versions" in answer.text
    assert visitor.post("/download", {**fields, "steps": "shown"}).status_code == 200
    assert visitor.post("/download", {**fields, "format": "markdown"}).status_code == 200


def test_downloads_leave_nothing_behind(visitor: Any, tmp_path: Path) -> None:
    visitor.post("/download", {"text": TEXT, "format": "pdf"})
    assert not list(tmp_path.rglob("*.*"))


# Corpora


def test_every_passage_and_prompt_is_offered(visitor: Any, outline: Any) -> None:
    page = outline(visitor.get("/").text)
    offered = {v for tag, name, v in page.attributes if (tag, name) == ("option", "value")}
    assert {p.key for p in load_passages()} <= offered
    assert {p.key for p in load_prompts()} <= offered


def test_taking_a_text(visitor: Any) -> None:
    passage = load_passages()[0]
    got = visitor.get(f"/text?kind=passage&key={passage.key}", headers=PART).json()
    assert got == {"text": f"# {passage.title}\n\n{passage.text}", "prompt": ""}
    prompt = load_prompts()[0]
    got = visitor.get(f"/text?kind=prompt&key={prompt.key}", headers=PART).json()
    assert got == {"text": prompt.answer, "prompt": prompt.question}


@pytest.mark.parametrize(
    "query", ["", "kind=passage&key=../../README", "kind=prompt", "kind=list&key=goose"]
)
def test_texts_are_not_looked_up_as_files(visitor: Any, query: str) -> None:
    answer = visitor.get(f"/text?{query}", headers=PART)
    assert answer.status_code == 422
    assert answer.json()["error"].startswith("Choose a passage or prompt")


# Without the script


def test_form_alone(visitor: Any, outline: Any, words_file: Path) -> None:
    prompt = load_prompts()[0]
    taken = visitor.post("/", {"text": "old", "take": "prompt", "prompt": prompt.key}).text
    page = outline(taken)
    assert page.inside("textarea")[0].strip() == prompt.answer
    assert page.inside("p", "question") == [prompt.question]
    shown = visitor.post("/", {"text": TEXT, "shown": "1", "rungs": "2", "large": "1"}).text
    assert 'data-show="1"' in shown
    assert 'id="large" name="large" value="1" checked' in shown
    panel = visitor.post("/word", {"text": TEXT, "at": "20", "large": "1"}).text
    assert "<h1>drillgen</h1>" in panel
    assert '<input type="hidden" name="large" value="1">' in panel
    wrong = visitor.post(
        "/keep", {"text": TEXT, "at": "20", "spoken": "boats", "choice": "own", "own": ""}
    )
    assert wrong.status_code == 422
    assert "There is no pronunciation" in wrong.text
    assert "<h1>drillgen</h1>" in wrong.text
    kept = visitor.post(
        "/keep",
        {"text": TEXT, "at": "20", "spoken": "boats", "choice": "own", "own": "BEE-tee"},
    )
    assert kept.status_code == 200
    assert "boats is kept as " in kept.text
    assert outline(kept.text).inside("textarea")[0].strip() == TEXT
    assert words_file.exists()


# Many at once


def test_long_texts_work_in_a_lane_of_their_own(tmp_path: Path) -> None:
    workshop = Workshop(tmp_path / "w.txt", limits=Limits(quick_words=5, quick_unknown=1))
    assert workshop.choose_lane("Two boats leave.") is Lane.QUICK
    assert workshop.choose_lane("one two three four five six") is Lane.SLOW
    assert workshop.choose_lane("zrovnik brzka") is Lane.SLOW
    assert workshop.choose_lane("a" * 1000) is Lane.SLOW
    assert workshop.choose_lane("tide! " * 3 + "!" * 2_000) is Lane.SLOW


def test_a_slow_request_does_not_block_others(
    open_page: OpenPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    visitor = open_page(limits=Limits(quick_words=10))
    release = threading.Event()
    original = Workshop.preview
    finished: list[str] = []

    def slow(self: Workshop, choices: Choices, lane: Lane) -> Any:
        if lane is Lane.SLOW:
            assert release.wait(20)
        result = original(self, choices, lane)
        finished.append(lane)
        return result

    monkeypatch.setattr(Workshop, "preview", slow)
    headers = {"sec-fetch-site": "same-origin"}

    async def long(client: httpx.AsyncClient) -> httpx.Response:
        return await client.post("/preview", data={"text": "tide " * 50}, headers=headers)

    async def short(client: httpx.AsyncClient) -> httpx.Response:
        try:
            return await client.post("/preview", data={"text": TEXT}, headers=headers)
        finally:
            release.set()

    answers = visitor.together(long, short)
    assert [answer.status_code for answer in answers] == [200, 200]
    assert finished == [Lane.QUICK, Lane.SLOW]


def test_too_many_at_once_are_turned_away(
    open_page: OpenPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    visitor = open_page(limits=Limits(quick_at_once=1, waiting=1))
    original = Workshop.preview

    def slow(self: Workshop, choices: Choices, lane: Lane) -> Any:
        time.sleep(0.2)
        return original(self, choices, lane)

    monkeypatch.setattr(Workshop, "preview", slow)

    async def one(client: httpx.AsyncClient) -> httpx.Response:
        return await client.post("/preview", data={"text": TEXT}, headers=PART)

    answers = visitor.together(*[one] * 6)
    codes = sorted(answer.status_code for answer in answers)
    assert codes[0] == 200
    assert codes[-1] == 503
    turned = next(answer for answer in answers if answer.status_code == 503)
    assert turned.headers["retry-after"] == "60"
    assert "try again" in turned.json()["error"]


def test_work_that_takes_too_long_is_given_up(
    open_page: OpenPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    visitor = open_page(limits=Limits(work_time=0.2))
    release = threading.Event()

    def stuck(*_: object, **__: object) -> None:
        release.wait(10)

    monkeypatch.setattr(Workshop, "preview", stuck)
    start = time.monotonic()
    answer = visitor.post("/preview", {"text": TEXT}, headers=PART)
    assert time.monotonic() - start < 5
    release.set()
    assert answer.status_code == 503
    assert "takes too long" in answer.json()["error"]


def test_a_fault_of_ours_tells_nothing(
    visitor: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(_: Workshop, choices: Choices, **__: object) -> None:
        raise RuntimeError(f"/home/secret {choices.text}")

    monkeypatch.setattr(Workshop, "preview", broken)
    answer = visitor.post("/preview", {"text": "Two boats."}, headers=PART)
    assert answer.status_code == 500
    assert answer.json() == {"error": "That went wrong inside drillgen. Sorry."}
    told = capsys.readouterr().err
    assert told.startswith("drillgen: RuntimeError in test_web_page.py, line ")
    assert "secret" not in told
    assert "boats" not in told


def test_threads_share_a_workshop(tmp_path: Path) -> None:
    workshop = Workshop(tmp_path / "w.txt")
    texts = [f"Boat {n} leaves at {n}:15, and the tide turns." for n in range(12)]
    lone = [workshop.preview(Choices(text=text), Lane.QUICK) for text in texts]
    results: dict[int, Any] = {}

    def work(number: int) -> None:
        lane = Lane.QUICK if number % 2 else Lane.SLOW
        results[number] = workshop.preview(Choices(text=texts[number]), lane)

    threads = [threading.Thread(target=work, args=(n,)) for n in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [results[n] for n in range(12)] == lone


def test_a_homograph_is_set_in_one_place(visitor: Any, words_file: Path) -> None:
    text = "A close friend sat close to the door. Please close it."
    fields = {"text": text, "at": "2", "part": "1"}
    html = visitor.post("/word", fields).text
    assert html.count('href="#w') == 2
    assert 'value="place" checked' in html
    kept = visitor.post(
        "/keep", {**fields, "spoken": "close", "choice": "K L OW1 Z", "where": "place"}
    )
    assert "in this place" in kept.json()["done"]
    line = words_file.read_text(encoding="utf-8")
    assert line.startswith("close (in a close friend sat close: a _ friend sat close)")
    html = visitor.post("/word", fields).text
    assert "of this place" in html
    assert "used here" in html.partition("KLOHZ")[2][:400]
    other = visitor.post("/word", {**fields, "at": "15"}).text
    assert "of this place" not in other
    assert visitor.post("/keep", {**fields, "spoken": "close", "act": "forget"}).status_code == 200
    assert "close" not in words_file.read_text(encoding="utf-8")


def test_a_choice_for_this_text(visitor: Any, words_file: Path) -> None:
    fields = {"text": "We read it.", "at": "3", "part": "1", "spoken": "read"}
    kept = visitor.post("/keep", {**fields, "choice": "R EH1 D", "where": "text"})
    assert "in this text" in kept.json()["done"]
    assert words_file.read_text(encoding="utf-8").startswith("read (in we read it)")


def test_the_head_of_each_page_is_answered(visitor: Any) -> None:
    for path in ("/", "/prompts", "/ladder", "/plan", "/find", "/clients", "/page.css"):
        assert visitor.ask("HEAD", path).status_code == 200, path


def test_a_reading_is_heard(visitor: Any) -> None:
    fields = {"text": TEXT, "at": "20", "spoken": "boats"}
    heard = {}
    for choice, own in (("B OW1 T S", ""), ("own", "boh-AHTS"), ("own", "/kiː/")):
        answer = visitor.post("/hear", {**fields, "choice": choice, "own": own})
        assert answer.headers["content-type"] == "audio/wav", answer.text
        samples, rate = soundfile.read(io.BytesIO(answer.content))
        assert 0.2 < len(samples) / rate < 2
        heard[choice, own] = answer.content
    assert len(set(heard.values())) == 3
    for own in ("", "[x", "&"):
        answer = visitor.post("/hear", {**fields, "choice": "own", "own": own, "part": "1"})
        assert answer.status_code == 422
