"""JSON: everything there, read back equal, the schema pinned."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from make_schema import make_schema
from sheet_factory import make_drill, make_sheet

from drillgen.core.errors import InputError
from drillgen.core.values import Passage, Worksheet
from drillgen.write.json import iter_json_lines, load_json, render_json

DOCS = Path(__file__).parents[2] / "docs"


def test_round_trip(sheet: Worksheet) -> None:
    assert load_json(render_json(sheet)) == sheet
    assert load_json(render_json(sheet).encode()) == sheet


@settings(max_examples=40, derandomize=True, deadline=None)
@given(st.text(st.characters(codec="utf-8"), max_size=30), st.booleans(), st.integers(0, 12))
def test_round_trip_of_any_text(text: str, discreet: bool, rows: int) -> None:
    sheet = make_sheet(text, title=text, discreet=discreet, log_rows=rows)
    assert load_json(render_json(sheet)) == sheet


def test_source_is_left_out(sheet: Worksheet) -> None:
    drill = replace(sheet.drills[0], passage=Passage("Quay.", "T", "/home/name/secret.txt"))
    assert "secret" not in render_json(replace(sheet, drills=(drill,)))
    assert "secret" not in "".join(iter_json_lines([drill], sheet))


def test_the_schema_is_the_documented_one() -> None:
    text = (DOCS / "worksheet.schema.json").read_text(encoding="utf-8")
    assert json.loads(text) == json.loads(json.dumps(make_schema()))


def test_the_document_names_every_field() -> None:
    text = (DOCS / "json.md").read_text(encoding="utf-8")
    for name, kind in make_schema()["$defs"].items():
        assert f"`{name}`" in text, name
        for field in kind.get("properties", ()):
            assert f"`{field}`" in text, f"{name}.{field}"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "[1]",
        "not json",
        '{"format":"drillgen-worksheet","version":1,"worksheet":{}}',
        '{"format":"something","version":2,"worksheet":{"drills":[],"title":"","pitch":null}}',
        '{"format":"drillgen-worksheet","version":2,"worksheet":{"drills":[{}]}}',
        '{"format":"drillgen-worksheet","version":2,"worksheet":{"drills":[],"title":5,"pitch":null}}',
        b"\xff\xfe",
    ],
)
def test_other_files_are_refused_in_one_line(text: str | bytes) -> None:
    with pytest.raises(InputError, match=r"^my\.json: not a worksheet of version 2: .+$"):
        load_json(text, "my.json")


def test_half_a_character_is_named() -> None:
    with pytest.raises(InputError, match=r"U\+D83D"):
        render_json(make_sheet("Quay.", title="\ud83d"))


def test_lines(sheet: Worksheet) -> None:
    drills = [make_drill("Quay."), make_drill("Who?")]
    lines = list(iter_json_lines(drills, sheet))
    assert len(lines) == 3
    assert load_json(lines[0]) == replace(sheet, drills=())
    assert json.loads(lines[2])["passage"]["text"] == "Who?"
    assert all(line.count("\n") == 1 for line in lines)
