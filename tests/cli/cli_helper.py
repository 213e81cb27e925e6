"""What the tests of commands share."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pypdf
import pytest

from drillgen.cli import run


def fails(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Run a command that must fail; returns its one line."""
    assert run(arguments) == 2
    captured = capsys.readouterr()
    lines = captured.err.strip().splitlines()
    assert len(lines) == 1, captured.err
    assert lines[0].startswith("drillgen: ")
    return lines[0]


def pdf_text(path: Path) -> str:
    """All words of a PDF, single spaces."""
    reader = pypdf.PdfReader(BytesIO(path.read_bytes()), strict=True)
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def check_pdf(path: Path, title: str) -> pypdf.PdfReader:
    """What every PDF of ours must be.

    ISO 14289-1:2014 (PDF/UA-1), clauses 5 and 7.1: identifier, tags, language,
    title shown. No author, no dates.
    """
    reader = pypdf.PdfReader(BytesIO(path.read_bytes()), strict=True)
    root = reader.root_object
    assert reader.xmp_metadata is not None
    assert b"pdfuaid:part" in reader.xmp_metadata.stream.get_data()
    assert root["/MarkInfo"]["/Marked"]  # type: ignore[index]
    assert str(root["/Lang"]).lower().startswith("en")
    assert reader.metadata is not None
    assert reader.metadata.title == title
    assert set(reader.metadata) == {"/Title", "/Creator"}
    return reader


def alt_texts(reader: pypdf.PdfReader) -> list[str]:
    """The alternative texts of all drawings."""
    found: list[str] = []
    stack: list[object] = [reader.root_object["/StructTreeRoot"]]
    while stack:
        node = stack.pop()
        if isinstance(node, pypdf.generic.IndirectObject):
            node = node.get_object()
        if isinstance(node, list):
            stack.extend(node)
        elif isinstance(node, dict):
            if "/Alt" in node:
                found.append(str(node["/Alt"]))
            if "/K" in node:
                stack.append(node["/K"])
    return found
