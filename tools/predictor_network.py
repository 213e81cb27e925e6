"""The network of drillgen/speech/pronounce/neural.py in PyTorch, for tools/train_predictor.py.

An encoder over the letters of a word: transformer blocks with relative
position biases, whose attention sees the letters and espeak-ng's mnemonics for
the word. The mnemonics are only looked at, never encoded further: a mnemonic's
key and value is a sum of three rows of tables (itself and both neighbours), so
that they cost the numpy version almost nothing. The first position holds the
source whose habits are wanted (CMUdict, Wiktionary …). A GRU then walks over
the letters and names the chunk of phones of each one, knowing the chunks
before (hard monotonic attention; Wu & Cotterell 2019); a second head gives
each letter's stress.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import torch
import torch.nn.functional as F
from torch import nn

REACH = 12
"""Relative positions beyond this count as this."""


@dataclass(frozen=True)
class Shape:
    """Sizes of a network."""

    width: int = 192
    heads: int = 4
    layers: int = 5
    inner: int = 576
    hidden: int = 128


class Block(nn.Module):  # type: ignore[misc]
    """One transformer layer over the letters."""

    def __init__(self, shape: Shape, marks: int, dropout: float) -> None:
        super().__init__()
        d, self.heads = shape.width, shape.heads
        self.norm1, self.norm2 = nn.LayerNorm(d), nn.LayerNorm(d)
        self.qkv, self.out = nn.Linear(d, 3 * d), nn.Linear(d, d)
        self.up, self.down = nn.Linear(d, shape.inner), nn.Linear(shape.inner, d)
        self.bias = nn.Parameter(torch.zeros(2 * (2 * REACH + 1), shape.heads))
        # Keys and values of a mnemonic, of the one before it and the one after it.
        self.marks = nn.ModuleList(nn.Embedding(marks, 2 * d) for _ in range(3))
        for table in self.marks:
            nn.init.normal_(table.weight, std=0.1)
        self.drop = nn.Dropout(dropout)

    def forward(self, x: Any, marks: Any, where: Any, mask: Any) -> Any:
        b, t, d = x.shape
        size = d // self.heads
        qkv = self.qkv(self.norm1(x)).view(b, t, 3, self.heads, size)
        q, k, v = qkv.permute(2, 0, 3, 1, 4)
        looked = (
            self.marks[0](marks[:, 1:-1])
            + self.marks[1](marks[:, :-2])
            + self.marks[2](marks[:, 2:])
        )
        seen = looked.view(b, -1, 2, self.heads, size).permute(2, 0, 3, 1, 4).to(k.dtype)
        k, v = torch.cat([k, seen[0]], 2), torch.cat([v, seen[1]], 2)
        bias = self.bias[where].permute(2, 0, 1)[None] + mask[:, None, None, :]
        y = F.scaled_dot_product_attention(q, k, v, attn_mask=bias.to(q.dtype))
        x = x + self.drop(self.out(y.transpose(1, 2).reshape(b, t, d)))
        return x + self.drop(self.down(self.drop(F.relu(self.up(self.norm2(x))))))


class Network(nn.Module):  # type: ignore[misc]
    """Letters and mnemonics in; a chunk of phones and a stress for each letter out."""

    def __init__(
        self, shape: Shape, letters: int, marks: int, sources: int, labels: int, dropout: float
    ) -> None:
        super().__init__()
        d = shape.width
        self.letters = nn.Embedding(letters + 2, d)
        self.sources = nn.Embedding(sources, d)
        self.blocks = nn.ModuleList(Block(shape, marks, dropout) for _ in range(shape.layers))
        self.norm = nn.LayerNorm(d)
        self.previous = nn.Embedding(labels + 1, 48)
        self.gru = nn.GRU(d + 48, shape.hidden, batch_first=True)
        self.head = nn.Linear(shape.hidden + d, labels)
        self.alone = nn.Linear(d, labels)
        self.stress = nn.Linear(d, 3)
        self.drop = nn.Dropout(dropout)
        for table in (self.letters, self.sources, self.previous):
            nn.init.normal_(table.weight, std=0.1)

    def encode(self, letters: Any, marks: Any, sources: Any) -> Any:
        """Encoded letters, (batch, letters, d), both ends left out.

        `letters` has an end mark on both sides and 0 behind; `marks` has one
        0 before the mnemonics and at least one behind.
        """
        tl, tm = letters.shape[1], marks.shape[1] - 2
        x = self.letters(letters)
        x = torch.cat([x[:, :1] + self.sources(sources)[:, None], x[:, 1:]], 1)
        x = self.drop(x)
        place = torch.arange(tl, device=x.device)
        at = torch.cat([place, torch.arange(1, tm + 1, device=x.device)])
        far = (place[:, None] - at[None]).clamp(-REACH, REACH) + REACH
        where = far + (torch.arange(tl + tm, device=x.device) >= tl).long() * (2 * REACH + 1)
        mask = torch.cat([letters > 0, marks[:, 1:-1] > 0], 1).float()
        mask = (1.0 - mask) * -1e4
        for block in self.blocks:
            x = block(x, marks, where, mask)
        return self.norm(x)[:, 1 : tl - 1]

    def forward(self, letters: Any, marks: Any, sources: Any, previous: Any) -> Any:
        x = self.drop(self.encode(letters, marks, sources))
        with torch.autocast(x.device.type, enabled=False):
            x = x.float()
            h, _ = self.gru(torch.cat([x, self.drop(self.previous(previous))], 2))
            return self.head(self.drop(torch.cat([h, x], 2))), self.alone(x), self.stress(x)

    @torch.no_grad()  # type: ignore[untyped-decorator]
    def say(self, letters: Any, marks: Any, sources: Any, forbidden: Any) -> tuple[Any, Any]:
        """The likeliest label, and stress, letter by letter."""
        x = self.encode(letters, marks, sources).float()
        size, steps = x.shape[:2]
        h = torch.zeros(1, size, self.gru.hidden_size, device=x.device)
        last = torch.full((size, 1), self.previous.num_embeddings - 1, device=x.device)
        chosen = []
        for i in range(steps):
            here = x[:, i : i + 1]
            out, h = self.gru(torch.cat([here, self.previous(last)], 2), h)
            scores = self.head(torch.cat([out, here], 2))[:, 0]
            last = (scores + forbidden[letters[:, i + 1]]).argmax(1, keepdim=True)
            chosen.append(last)
        return torch.cat(chosen, 1), self.stress(x).argmax(2)
