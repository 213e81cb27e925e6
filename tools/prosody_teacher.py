"""Teachers for tools/train_prosody.py: a pretrained encoder, tuned to hear what readers do.

A teacher reads a sentence's word pieces with the six layers of MiniLM (Wang et al. 2020;
all-MiniLM-L6-v2, Apache-2.0), joins the first and the last piece of each word to the features
that our small network has, and runs gated recurrent units over them. What it says of a text is
what the small network learns; nothing of its weights is shipped. Needs torch and safetensors.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import torch
from safetensors.torch import load_file
from torch import nn
from torch.nn import functional

UNKNOWN, START, STOP = 100, 101, 102
"""Rows of the encoder's vocabulary."""

SIGNS = ("", ",", ";", ".", "?", "!")
"""What the encoder reads for each mark of drillgen.speech.prosody.network.MARKS."""

HEADS, FEATURES, UNITS, DROP = 12, 48, 192, 0.25
_PARTS = re.compile(r"[^\W_]+|[^\w\s]")


class Pieces:
    """Words as pieces of a vocabulary, the longest first (Wu et al. 2016)."""

    def __init__(self, path: Path) -> None:
        lines = path.read_text(encoding="utf-8").split("\n")
        self._rows = {piece: row for row, piece in enumerate(lines)}
        self._cut = cache(self._split)

    def _split(self, word: str) -> list[int]:
        bare = "".join(
            c
            for c in unicodedata.normalize("NFD", word.lower())
            if unicodedata.category(c) != "Mn"
        )
        rows: list[int] = []
        for part in _PARTS.findall(bare):
            at = 0
            while at < len(part):
                head = "##" if at else ""
                ends = range(len(part), at, -1)
                end = next((e for e in ends if head + part[at:e] in self._rows), 0)
                rows.append(self._rows[head + part[at:end]] if end else UNKNOWN)
                at = end or len(part)
        return rows[:12] or [UNKNOWN]

    def read(self, words: Sequence[str], marks: Sequence[int]) -> tuple[list[int], ...]:
        """Rows of a sentence, and where each word's first and last piece stand."""
        rows, firsts, lasts = [START], [], []
        for word, mark in zip(words, marks, strict=True):
            firsts.append(len(rows))
            rows += self._cut(word)
            lasts.append(len(rows) - 1)
            if mark:
                rows.append(self._rows[SIGNS[mark]])
        return [*rows, STOP], firsts, lasts


class Layer(nn.Module):  # type: ignore[misc]
    """Attention and two connected layers, each normed behind its sum."""

    def __init__(self, width: int, inner: int) -> None:
        super().__init__()
        self.query, self.key, self.value, self.out = (nn.Linear(width, width) for _ in range(4))
        self.up, self.down = nn.Linear(width, inner), nn.Linear(inner, width)
        self.norm1, self.norm2 = (nn.LayerNorm(width, eps=1e-12) for _ in range(2))
        self.drop = nn.Dropout(0.1)

    def forward(self, x: Any, mask: Any) -> Any:
        size, length, width = x.shape
        q, k, v = (
            part(x).view(size, length, HEADS, -1).transpose(1, 2)
            for part in (self.query, self.key, self.value)
        )
        rate = 0.1 if self.training else 0.0
        y = functional.scaled_dot_product_attention(q, k, v, attn_mask=mask, dropout_p=rate)
        x = self.norm1(x + self.drop(self.out(y.transpose(1, 2).reshape(size, length, width))))
        return self.norm2(x + self.drop(self.down(functional.gelu(self.up(x)))))


NAMES = {
    "query": "attention.self.query",
    "key": "attention.self.key",
    "value": "attention.self.value",
    "out": "attention.output.dense",
    "norm1": "attention.output.LayerNorm",
    "up": "intermediate.dense",
    "down": "output.dense",
    "norm2": "output.LayerNorm",
}
"""Our names of a layer's parts, and the file's."""


class Encoder(nn.Module):  # type: ignore[misc]
    """A BERT-like encoder with the weights of a folder."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        stored = load_file(path)
        self.words, self.places = (
            nn.Embedding.from_pretrained(stored[f"embeddings.{name}_embeddings.weight"], False)
            for name in ("word", "position")
        )
        self.kind = nn.Parameter(stored["embeddings.token_type_embeddings.weight"][0].clone())
        width = self.kind.shape[0]
        self.norm = nn.LayerNorm(width, eps=1e-12)
        self.norm.weight.data = stored["embeddings.LayerNorm.weight"]
        self.norm.bias.data = stored["embeddings.LayerNorm.bias"]
        self.drop = nn.Dropout(0.1)
        self.layers = nn.ModuleList()
        while (prefix := f"encoder.layer.{len(self.layers)}.") + "output.dense.bias" in stored:
            layer = Layer(width, len(stored[f"{prefix}intermediate.dense.bias"]))
            layer.load_state_dict(
                {
                    f"{ours}.{kind}": stored[f"{prefix}{theirs}.{kind}"]
                    for ours, theirs in NAMES.items()
                    for kind in ("weight", "bias")
                }
            )
            self.layers.append(layer)

    def forward(self, rows: Any) -> Any:
        x = self.words(rows) + self.places.weight[: rows.shape[1]] + self.kind
        x, mask = self.drop(self.norm(x)), (rows > 0)[:, None, None, :]
        for layer in self.layers:
            x = layer(x, mask)
        return x


class Teacher(nn.Module):  # type: ignore[misc]
    """The encoder, our features, recurrent units over both; scores as the small network's."""

    def __init__(self, path: Path, sizes: Sequence[int], scores: int) -> None:
        super().__init__()
        self.encoder = Encoder(path)
        self.tables = nn.ModuleList(nn.Embedding(size, FEATURES) for size in sizes)
        for table in self.tables:
            nn.init.normal_(table.weight, std=0.1)
        width = 2 * self.encoder.kind.shape[0] + FEATURES
        self.turn = nn.GRU(width, UNITS, batch_first=True, bidirectional=True)
        self.head = nn.Linear(width + 2 * UNITS, scores)
        self.drop = nn.Dropout(DROP)

    def forward(self, features: Any, mask: Any, rows: Any, firsts: Any, lasts: Any) -> Any:
        seen = self.encoder(rows)
        ends = [
            seen.gather(1, place[..., None].expand(-1, -1, seen.shape[2]))
            for place in (firsts, lasts)
        ]
        ours = sum(table(features[..., i]) for i, table in enumerate(self.tables))
        joined = self.drop(torch.cat([*ends, ours], -1) * mask[..., None])
        packed = nn.utils.rnn.pack_padded_sequence(
            joined, mask.sum(1).long().cpu(), batch_first=True, enforce_sorted=False
        )
        both, _ = nn.utils.rnn.pad_packed_sequence(self.turn(packed)[0], batch_first=True)
        return self.head(torch.cat([joined, self.drop(both)], -1))
