"""Write docs/worksheet.schema.json: the JSON Schema (draft 2020-12) of a worksheet's file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import msgspec

from drillgen.write.json import Envelope

SCHEMA = Path(__file__).parents[1] / "docs" / "worksheet.schema.json"


def make_schema() -> dict[str, Any]:
    """The schema, with the docstrings as descriptions."""
    schema = msgspec.json.schema(Envelope)
    for definition in schema["$defs"].values():
        # Examples of the docstrings are for Python.
        if "description" in definition:
            definition["description"] = definition["description"].split("\n\n>>>")[0]
    return schema


if __name__ == "__main__":
    text = json.dumps(make_schema(), indent=2, ensure_ascii=False)
    SCHEMA.write_text(f"{text}\n", encoding="utf-8")
