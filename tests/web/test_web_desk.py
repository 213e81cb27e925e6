"""The other pages of the desk, without a browser."""

from __future__ import annotations

import datetime
import html
import io
import re
import zipfile
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from drillgen.core.accents import list_accents
from drillgen.corpus.reader import load_prompts
from drillgen.practice.clients import read_client
from drillgen.practice.log import parse_log
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.web.app import build_app
from drillgen.web.workshop import Workshop

PROMPTS = load_prompts()
PAGES = ["/prompts", "/prompts?step=1", "/ladder", "/plan", "/find", "/clients"]


@pytest.fixture
def desk(tmp_path: Path, lexicon: Lexicon, visitor: Any) -> tuple[Any, Path]:
    """A visitor of a page with clients, and their folder."""
    folder = tmp_path / "clients"
    workshop = Workshop(tmp_path / "words.txt", lexicon=lexicon, clients=folder)
    visitor.app = build_app(tmp_path / "words.txt", workshop=workshop)
    return visitor, folder


def read_pdf(answer: Any) -> str:
    """The text of a PDF that was sent."""
    assert answer.headers["content-type"] == "application/pdf", answer.text
    return read_text(answer.content)


def read_text(data: bytes) -> str:
    """The text of a PDF."""
    return "\n".join(p.extract_text() for p in PdfReader(io.BytesIO(data)).pages)


@pytest.mark.parametrize("path", PAGES)
def test_each_page_is_there_and_well_formed(visitor: Any, outline: Any, path: str) -> None:
    answer = visitor.get(path)
    assert answer.status_code == 200
    page = outline(answer.text)
    assert not page.stack
    assert page.tags.count("h1") == 1
    ids = [value for _, name, value in page.attributes if name == "id"]
    assert len(ids) == len(set(ids))
    labels = {value for tag, name, value in page.attributes if (tag, name) == ("label", "for")}
    assert labels <= set(ids)


def test_prompts_are_browsed_by_topic_and_step(visitor: Any) -> None:
    topic = PROMPTS[0].topic
    page = visitor.get(f"/prompts?topic={topic}&step=1").text
    shown = [p.key for p in PROMPTS if f"pick-{p.key}" in page]
    assert shown
    assert {(p.topic, p.step) for p in PROMPTS if p.key in shown} == {(topic, 1)}
    assert visitor.get("/prompts?topic=nothing").status_code == 422
    assert visitor.get("/prompts?step=9").status_code == 422


def test_a_sheet_of_the_ticked_prompts(visitor: Any) -> None:
    chosen = [PROMPTS[0], PROMPTS[40]]
    fields = {f"pick-{p.key}": "1" for p in chosen} | {"format": "markdown", "rungs": "0"}
    text = visitor.post("/prompts", fields).text
    assert all(p.question.split()[-1].strip("?.") in text for p in chosen)
    none = visitor.post("/prompts", {"format": "pdf"})
    assert none.status_code == 422
    assert "tick one or more" in none.text
    many = {f"pick-{p.key}": "1" for p in PROMPTS[:25]} | {"format": "pdf"}
    assert "24 at most" in visitor.post("/prompts", many).text


def test_an_own_answer_is_practised_at_once(visitor: Any) -> None:
    prompt = PROMPTS[0]
    asked = visitor.get(f"/own?taken={prompt.key}&words=en-US")
    assert html.unescape(asked.text).count(prompt.question) == 2
    fields = dict(re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', asked.text))
    assert {name: html.unescape(value) for name, value in fields.items()} == {
        "asked": prompt.question
    }
    fields = {"asked": prompt.question, "pitch": "A3", "rungs": "2"}
    page = visitor.post("/practise", fields | {"text": "I walked the dog."})
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    assert "content-disposition" not in page.headers
    assert "script-src" not in page.headers["content-security-policy"]
    assert "microphone=(self)" in page.headers["permissions-policy"]
    assert f"<h1>{prompt.question}</h1>" in html.unescape(page.text)
    assert re.search(r"ee w[a-z]+ thee deeg\.", page.text)
    # The text is too short for two different rungs.
    assert page.text.count("<article") == 3
    nothing = visitor.post("/practise", fields | {"text": " "})
    assert nothing.status_code == 422
    assert "there is no text yet" in nothing.text.lower()
    assert visitor.get("/own?taken=none").status_code == 422


def test_an_answer_goes_to_the_first_page(visitor: Any) -> None:
    prompt = PROMPTS[3]
    page = html.unescape(visitor.post("/", {"taken": prompt.key}).text)
    assert prompt.question.replace("’", "").split()[0] in page
    assert f'value="{prompt.question}"' in page or prompt.question in page


def test_a_ladder_to_look_at_and_to_print(visitor: Any) -> None:
    fields = {"from": "word", "to": "phrase", "count": "3", "pick-GOOSE": "1", "title": "Up"}
    look = visitor.post("/ladder", {**fields, "format": "look"})
    assert look.headers["content-type"].startswith("text/html")
    assert "script-src" not in look.headers["content-security-policy"]
    assert "<h1>Up</h1>" in look.text
    assert "Up" in read_pdf(visitor.post("/ladder", {**fields, "format": "pdf"}))
    wrong = visitor.post("/ladder", {"from": "passage", "to": "word", "format": "pdf"})
    assert wrong.status_code == 422
    assert "swap the two units" in wrong.text


def test_a_plan_with_log_and_calendar(visitor: Any) -> None:
    fields = {"weeks": "2", "days": "3", "start": "2030-01-07", "time": "18:30"}
    log = visitor.post("/plan", {**fields, "format": "log"})
    assert log.content.count(b"\r\n") == 7
    assert parse_log(log.text, name="log") == ()
    calendar = visitor.post("/plan", {**fields, "format": "calendar"}).text
    assert calendar.count("BEGIN:VEVENT") == 6
    assert "T183000" in calendar
    assert "6" in read_pdf(visitor.post("/plan", {**fields, "format": "pdf"}))
    assert "first day" in visitor.post("/plan", {"format": "calendar"}).text
    assert "is no date" in visitor.post("/plan", {**fields, "start": "soon"}).text
    broken = visitor.post("/plan", {**fields, "log": "date\nnever", "format": "pdf"})
    assert broken.status_code == 422


def test_the_material_of_a_week(desk: tuple[Any, Path]) -> None:
    visitor, _ = desk
    visitor.post("/clients", {"alias": "wren", "new": "1", "act": "save", "pitch": "A3"})
    fields = {"weeks": "1", "days": "2", "start": "2030-01-07", "from": "sentence", "pitch": "A3"}
    answer = visitor.post("/plan", {**fields, "client": "wren", "rungs": "0", "format": "week"})
    assert answer.status_code == 200, answer.text
    # The days of five clients are not taken for each other's.
    assert 'filename="practice-days-wren.zip"' in answer.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
        names = packed.namelist()
        assert "A3" in read_text(packed.read("day-01.pdf"))
    assert set(names) == {
        *("start-here.pdf", "log.pdf", "log.csv", "sessions.ics"),
        *(f"day-0{n}.{ending}" for n in (1, 2) for ending in ("pdf", "html")),
    }
    # Of a plan of many weeks it is the first.
    days = {"pick-mon": "1", "pick-fri": "1", "skip": "2030-01-07, 2030-01-14"}
    first = visitor.post("/plan", {**fields, **days, "weeks": "9", "format": "week"})
    with zipfile.ZipFile(io.BytesIO(first.content)) as packed:
        assert packed.read("log.csv").count(b"2030-01-") == 1
        assert b"2030-01-11" in packed.read("log.csv")
    bad = visitor.post("/plan", {**fields, "skip": "monday", "format": "week"})
    assert "&#39;monday&#39; is no date" in bad.text
    assert f'value="{datetime.date.today()}"' in visitor.get("/plan").text
    assert "first day" in visitor.post("/plan", {**fields, "start": "", "format": "week"}).text


def test_an_alias_in_any_letters_names_its_files(desk: tuple[Any, Path]) -> None:
    """RFC 8187, section 3.2."""
    visitor, _ = desk
    visitor.post("/clients", {"alias": "łuska", "new": "1", "act": "save"})
    fields = {"weeks": "1", "days": "1", "start": "2030-01-07", "client": "łuska"}
    answer = visitor.post("/plan", {**fields, "format": "week"})
    assert answer.status_code == 200, answer.text
    named = answer.headers["content-disposition"]
    assert named.endswith("; filename*=UTF-8''practice-days-%C5%82uska.zip")


def test_a_week_of_texts_of_ones_own(desk: tuple[Any, Path]) -> None:
    visitor, folder = desk
    visitor.post("/clients", {"alias": "wren", "new": "1", "act": "save"})
    texts = "# Rain on tin\nIt rained all day.\n\n---\n\nThe kettle\n---\nIt sang, and sang again."
    fields = {"days": "2", "start": "2030-01-07", "from": "sentence", "to": "passage"}
    answer = visitor.post(
        "/plan", {**fields, "client": "wren", "text": texts, "format": "week", "rungs": "0"}
    )
    assert answer.status_code == 200, answer.text
    with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
        days = [read_text(packed.read(f"day-0{n}.pdf")) for n in (1, 2)]
    assert "Rain on tin" in days[0]
    assert "kettle" not in days[0]
    assert "The kettle" in days[1]
    # Texts of ours are noted by their key, so that the next week takes others.
    used = []
    for _ in range(2):
        visitor.post("/plan", {**fields, "client": "wren", "format": "week", "rungs": "0"})
        (file,) = folder.rglob("wren.toml")
        used.append(read_client(file).passages)
    assert len(used[0]) == 2
    assert len(used[1]) == 4


def test_a_log_comes_back_and_shows_how_it_goes(desk: tuple[Any, Path]) -> None:
    visitor, folder = desk
    visitor.post("/clients", {"alias": "wren", "new": "1", "act": "save", "discreet": "1"})
    head = "date,session,unit,version,rung,minutes,felt,heard,steady,lively,tension,note"
    rows = [f"2030-01-{n:02},{n},phrase,full,,15,x,x,x,x,0,well" for n in range(1, 25)]
    log = "\n".join((head, *rows))
    fields = {"alias": "wren", "act": "log"}
    for wrong, said in (
        ("", "log is empty"),
        ("dear diary", "this is no log"),
        (head, "no session"),
    ):
        refused = visitor.post("/clients", {**fields, "log": wrong})
        assert refused.status_code == 422
        assert said in refused.text
    early = visitor.post("/progress", {"alias": "wren", "format": "pdf"})
    assert "No session is filled in yet" in early.text
    assert "24 new sessions, 24 in all." in visitor.post("/clients", {**fields, "log": log}).text
    again = visitor.post("/clients", {**fields, "log": log}).text
    assert "0 new sessions, 24 in all." in again
    assert "Progress as PDF" in again
    assert len(read_client(folder / "wren.toml").read_log()) == 24
    own, teachers = (
        read_pdf(visitor.post("/progress", {"alias": "wren", "format": "pdf", **more}))
        for more in ({}, {"teacher": "1"})
    )
    assert "24 sessions" in own
    assert "well" not in own.split()
    assert "well" in teachers.split()
    assert "pitch" not in own.lower()
    # A plan takes a log of any length, too.
    plan = visitor.post("/plan", {"log": log, "format": "markdown", "weeks": "1", "days": "2"})
    assert plan.status_code == 200, plan.text


def test_the_calendars_of_two_clients_share_no_identifier(desk: tuple[Any, Path]) -> None:
    visitor, _ = desk
    fields = {"weeks": "1", "days": "2", "start": "2030-01-07", "format": "calendar"}
    found = []
    for alias in ("wren", "linnet", "wren"):
        visitor.post("/clients", {"alias": alias, "new": "1", "act": "save"})
        text = visitor.post("/plan", {**fields, "client": alias}).text
        assert alias not in text
        found.append({line for line in text.splitlines() if line.startswith("UID:")})
    assert len(found[0]) == 2
    assert not found[0] & found[1]
    assert found[0] == found[2]


def test_prompts_in_the_words_of_a_locale(visitor: Any) -> None:
    here = html.unescape(visitor.get("/prompts?topic=dating&step=1").text)
    there = html.unescape(visitor.get("/prompts?topic=dating&step=1&words=en-GB").text)
    assert "How about a drink this week?" in here
    assert "Fancy a drink this week?" in there
    assert "words=en-GB" in there.split("</table>")[0]
    assert visitor.get("/prompts?words=latin").status_code == 422


def test_sentences_of_a_long_text(visitor: Any) -> None:
    text = "The moon is blue. A rude goose flew to the moon too. " * 3 + "It rains."
    fields = {"text": text, "step": "1", "count": "5", "pick-GOOSE": "1"}
    page = visitor.post("/find", fields).text
    listed = page[page.index('id="found"') :]
    assert listed.count("A rude goose flew to the moon too.") == 2  # listed, and ready to take
    assert "give" not in visitor.post("/find", {**fields, "text": "It rains."}).text
    assert visitor.post("/find", {"text": " "}).status_code == 422
    # Vowels that only an accent has are measured in it.
    near = "We hear the cheer and steer the boat here. " * 2
    for accent in list_accents():
        answer = visitor.post("/find", {"text": near, "step": "2", "accent": accent})
        assert answer.status_code == 200


def test_clients_are_made_changed_used_and_deleted(desk: tuple[Any, Path]) -> None:
    visitor, folder = desk
    made = visitor.post(
        "/clients",
        {
            "alias": "Robin",
            "new": "1",
            "act": "save",
            "pitch": "A3",
            "unit": "phrase",
            "large": "1",
        },
    )
    assert "robin is saved." in made.text
    client = read_client(folder / "robin.toml")
    assert (client.pitch, client.unit, client.large, client.discreet) == (
        "A3",
        "phrase",
        True,
        False,
    )
    again = visitor.post("/clients", {"alias": "robin", "new": "1", "act": "save"})
    assert "already" in again.text
    settings = visitor.get("/client?alias=robin").json()["fields"]
    assert settings["pitch"] == "A3"
    assert settings["large"] == "1"
    assert "discreet" not in settings
    visitor.post(
        "/clients", {"alias": "robin", "act": "save", "pitch": "G3", "accent": "scottish"}
    )
    changed = read_client(folder / "robin.toml")
    assert (changed.pitch, changed.accent, changed.large, changed.unit) == (
        "G3",
        "scottish",
        False,
        None,
    )
    assert "robin" in visitor.get("/clients").text
    assert "tick" in visitor.post("/clients", {"alias": "robin", "act": "delete"}).text
    assert (
        visitor.post("/clients", {"alias": "robin", "act": "delete", "sure": "1"}).status_code
        == 200
    )
    assert not (folder / "robin.toml").exists()
    gone = visitor.get("/client?alias=robin")
    assert gone.status_code == 422
    assert str(folder) not in gone.text


def test_a_file_may_call_its_choices_by_any_of_their_names(desk: tuple[Any, Path]) -> None:
    """The lists of the page know one name each; another would be shown as the first choice."""
    visitor, folder = desk
    visitor.post("/clients", {"alias": "wren", "new": "1", "act": "save"})
    (file,) = folder.rglob("wren.toml")
    file.write_text(
        'accent = "British"\ntarget = "GOOSE"\nsize = "Letter"\nlocale = "american"\n'
        'partial = "Distance"\nunit = "Phrase"\n',
        encoding="utf-8",
    )
    fields = visitor.get("/client?alias=wren").json()["fields"]
    page = visitor.get("/clients?alias=wren").text
    for name in ("accent", "target", "size", "locale", "partial", "unit"):
        choices = page.split(f'<select id="{name}"')[1].split("</select>")[0]
        (chosen,) = re.findall(r'<option value="([^"]*)" selected', choices)
        assert chosen == fields[name], name
    assert fields["accent"] == "non-rhotic"
    # Saved again as it is, it says the same.
    visitor.post("/clients", {**fields, "alias": "wren", "act": "save"})
    saved = read_client(file).settings
    assert (saved["accent"], saved["size"], saved["unit"]) == ("non-rhotic", "letter", "phrase")


def test_a_clients_own_words_come_first(desk: tuple[Any, Path], outline: Any) -> None:
    visitor, folder = desk
    folder.mkdir()
    (folder / "robin.toml").write_text('words = """\nboats  L UW1 K\n"""\n')
    fields = {"text": "Two boats."}
    plain = outline(visitor.post("/preview", fields).text).shown_at(2)
    own = outline(visitor.post("/preview", {**fields, "client": "robin"}).text).shown_at(2)
    assert plain == ["tee", "↘beets."]
    assert own == ["tee", "↘leek."]
    (folder / "robin.toml").write_text('words = """\nboats  K UW1 L\n"""\n')
    again = outline(visitor.post("/preview", {**fields, "client": "robin"}).text).shown_at(2)
    assert again == ["tee", "↘keel."]


@pytest.mark.parametrize("alias", ["../words", "a/b", "", "x" * 50, "robin.toml"])
def test_an_alias_is_never_a_path(desk: tuple[Any, Path], alias: str) -> None:
    visitor, folder = desk
    saved = visitor.post("/clients", {"alias": alias, "act": "save"})
    assert saved.status_code == 422
    assert not folder.exists()
    assert visitor.post("/preview", {"text": "Hi.", "client": alias or "?"}).status_code == 422


def test_a_broken_client_is_named_and_the_rest_shown(
    desk: tuple[Any, Path],
) -> None:
    visitor, folder = desk
    folder.mkdir()
    (folder / "robin.toml").write_text("pitch = ")
    (folder / "wren.toml").write_text('pitch = "A3"\n')
    page = visitor.get("/clients")
    assert page.status_code == 200
    assert "not TOML" in page.text
    assert "wren" in page.text
    assert str(folder) not in page.text


def test_a_pronunciation_is_kept_for_a_client(desk: tuple[Any, Path]) -> None:
    visitor, folder = desk
    made = {"alias": "robin", "new": "1", "act": "save"}
    assert visitor.post("/clients", made).status_code < 400
    fields = {"text": "Then Quaighle came.", "at": "5", "part": "1", "client": "robin"}
    panel = visitor.post("/word", fields).text
    assert 'value="client" checked' in panel
    kept = visitor.post(
        "/keep",
        {**fields, "spoken": "quaighle", "where": "client", "choice": "own", "own": "KWAYL"},
    )
    assert kept.json()["done"].startswith("Quaighle is kept as KWAYL for robin.")
    assert "quaighle  K W EY1 L" in read_client(folder / "robin.toml").words
    assert not (folder.parent / "words.txt").exists()
    assert "Forget my pronunciation for robin" in visitor.post("/word", fields).text
    # For others it is still a guess.
    assert "Forget" not in visitor.post("/word", {**fields, "client": ""}).text
    gone = visitor.post("/keep", {**fields, "spoken": "quaighle", "act": "forget"})
    assert gone.status_code == 200
    assert "quaighle" not in read_client(folder / "robin.toml").words
    undo = gone.json()["undo"]
    assert undo == {"where": "client", "before": "K W EY1 L", "list": "client"}
    visitor.post("/keep", {**fields, "spoken": "quaighle", "act": "undo", **undo})
    assert "quaighle  K W EY1 L" in read_client(folder / "robin.toml").words
    assert not (folder.parent / "words.txt").exists()
