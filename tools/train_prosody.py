"""Train the network of drillgen/speech/prosody/network.py and write its weights.

    python tools/train_prosody.py [DATA] [--epochs N] [--teachers N]

DATA is a folder with prosody/train.txt.gz (Helsinki Prosody Corpus, CC BY 4.0) and
pos/train.tsv (Universal Dependencies English Web Treebank, CC BY-SA 4.0); the default is
../shared/data. Needs torch, which drillgen itself does not. With --teachers, several networks
of the same size are trained first, and the one that is written learns from the labels and from
the mean of what they say (Hinton et al. 2015, Distilling the knowledge in a neural network).
One reader in twenty is held out
to watch the training; the development parts are never read.
"""

from __future__ import annotations

import argparse
import gzip
import random
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import torch
from torch import nn
from torch.nn import functional

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from drillgen.speech.prosody.network import (  # noqa: E402
    ENDINGS,
    FAR,
    MARKS,
    SHAPES,
    WEIGHTS,
    place_features,
    spell_features,
)
from drillgen.speech.prosody.tagger import Tagger  # noqa: E402

SIZE, WIDTH, UNITS = 48, 64, 56
"""Numbers in a word's vector, after the look at its neighbours, and in each direction."""

COMMON = 4
"""A word that is rarer in the training part is known by its spelling alone."""

APPENDED = frozenset(mark + end for end in ("s", "m", "ll", "ve", "re", "d") for mark in "'’") | {
    "n't",
    "n’t",
}


class Sentence(NamedTuple):
    words: list[str]
    marks: list[int]
    capitals: list[int]
    beats: list[int]
    pauses: list[int]
    tags: list[str]
    reader: str


def mark_number(mark: str) -> int:
    return {
        ",": 1,
        ";": 2,
        ":": 2,
        "-": 2,
        "--": 2,
        "—": 2,
        "–": 2,
        "...": 2,
        ".": 3,
        "?": 4,
        "!": 5,
    }.get(mark, 0)


def read_prosody(path: Path) -> Iterator[Sentence]:
    """The sentences of the prosody corpus; -1 stands for no tag."""
    for block in gzip.decompress(path.read_bytes()).decode().split("<file>\t")[1:]:
        name, *lines = block.rstrip("\n").split("\n")
        found = Sentence([], [], [], [], [], [], name.split("_")[0])
        for line in lines:
            word, beat, pause = line.split("\t")
            if beat == "NA":
                if found.words and not found.marks[-1]:
                    found.marks[-1] = mark_number(word)
                if word[0].isalpha() or (word[:1] == "'" and len(word) > 1):
                    add_word(found, word, -1, -1, "")
                continue
            add_word(found, word, int(beat), int(pause), "")
        if found.words:
            yield found


def add_word(found: Sentence, word: str, beat: int, pause: int, tag: str) -> None:
    found.words.append(word.lower().replace("’", "'").strip("'") or word)
    found.marks.append(0)
    found.capitals.append(int(word[:1].isupper() and word != "I" and not word.startswith("I'")))
    found.beats.append(beat)
    found.pauses.append(pause)
    found.tags.append(tag)


def read_tags(rows: Iterator[tuple[str, str, str]]) -> Iterator[Sentence]:
    """Sentences of the treebank, words joined as drillgen has them: don't, boat's."""
    found = Sentence([], [], [], [], [], [], "")
    for token, universal, tag in rows:
        if not token:
            if found.words:
                yield found
            found = Sentence([], [], [], [], [], [], "")
        elif found.words and token.lower() in APPENDED and not found.marks[-1]:
            found.words[-1] += token.lower().replace("’", "'")
        elif universal in ("PUNCT", "SYM") and not token[0].isalnum():
            if found.words and not found.marks[-1] and tag != "HYPH":
                found.marks[-1] = mark_number(token)
        elif token[0].isalnum() or token[0] == "'":
            add_word(found, token, -1, -1, tag)
    if found.words:
        yield found


def treebank_rows(path: Path) -> Iterator[tuple[str, str, str]]:
    for line in path.read_text(encoding="utf-8").split("\n"):
        cells = line.split("\t")
        yield (cells[0], cells[1], cells[2]) if len(cells) == 3 else ("", "", "")
    yield "", "", ""


class Model(nn.Module):  # type: ignore[misc]
    """The network as torch trains it."""

    def __init__(self, words: int, tags: int) -> None:
        super().__init__()
        self.word = nn.Embedding(words + 1, SIZE)
        self.spell = nn.ModuleList(
            nn.Embedding(n, SIZE) for n in (ENDINGS, ENDINGS, ENDINGS, SHAPES)
        )
        places = (len(MARKS), FAR + 1, FAR + 1, FAR + 1, FAR + 1, 2)
        self.place = nn.ModuleList(nn.Embedding(n, SIZE) for n in places)
        for table in (self.word, *self.spell, *self.place):
            nn.init.normal_(table.weight, std=0.1)
        self.near = nn.Conv1d(SIZE, WIDTH, 3, padding=1)
        self.turn = nn.GRU(WIDTH, UNITS, batch_first=True, bidirectional=True)
        self.head = nn.Linear(WIDTH + 2 * UNITS, 6 + tags)
        self.drop = nn.Dropout(DROP)

    def forward(self, features: torch.Tensor, mask: torch.Tensor) -> torch.Tensor:
        vector = self.word(features[..., 0])
        for i, table in enumerate(self.spell):
            vector = vector + table(features[..., 1 + i])
        for i, table in enumerate(self.place):
            vector = vector + table(features[..., 5 + i])
        hidden = (self.drop(vector) * mask[..., None]).transpose(1, 2)
        hidden = self.drop(torch.relu(self.near(hidden)).transpose(1, 2))
        packed = nn.utils.rnn.pack_padded_sequence(
            hidden, mask.sum(1).long(), batch_first=True, enforce_sorted=False
        )
        both, _ = nn.utils.rnn.pad_packed_sequence(self.turn(packed)[0], batch_first=True)
        return self.head(torch.cat([hidden, self.drop(both)], -1))


DROP = 0.2
WORD_DROP = 0.06


def features_of(sentence: Sentence, numbers: dict[str, int]) -> np.ndarray[Any, Any]:
    ends = np.zeros(len(sentence.words), bool)
    ends[-1] = True
    places = place_features(np.array(sentence.marks), ends, np.array(sentence.capitals))
    spelled = [(numbers.get(word, 0), *spell_features(word)) for word in sentence.words]
    return np.concatenate([np.array(spelled), places], axis=1)


class Data:
    """Sentences as arrays, given out in batches of like length."""

    def __init__(
        self, sentences: Sequence[Sentence], numbers: dict[str, int], tags: dict[str, int]
    ) -> None:
        self.rows = [
            (
                features_of(s, numbers),
                np.array([s.pauses, s.beats, [tags.get(tag, -1) for tag in s.tags]]).T,
            )
            for s in sentences
        ]
        self.taught: list[np.ndarray[Any, Any]] = []
        """Per sentence, what teachers say of each word: chances, shape (words, scores)."""

    def batches(self, size: int, shuffle: bool) -> Iterator[tuple[torch.Tensor, ...]]:
        order = list(range(len(self.rows)))
        if shuffle:
            random.shuffle(order)
        chunks = [order[i : i + 50 * size] for i in range(0, len(order), 50 * size)]
        groups = []
        for chunk in chunks:
            chunk.sort(key=lambda i: len(self.rows[i][0]))
            groups += [chunk[i : i + size] for i in range(0, len(chunk), size)]
        if shuffle:
            random.shuffle(groups)
        for group in groups:
            longest = max(len(self.rows[i][0]) for i in group)
            x = np.zeros((len(group), longest, 11), np.int64)
            y = np.full((len(group), longest, 3), -1, np.int64)
            mask = np.zeros((len(group), longest), np.float32)
            for row, i in enumerate(group):
                a, b = self.rows[i]
                x[row, : len(a)], y[row, : len(a)], mask[row, : len(a)] = a, b, 1
            parts = [torch.from_numpy(part) for part in (x, y, mask)]
            if self.taught:
                soft = np.zeros((len(group), longest, self.taught[0].shape[1]), np.float32)
                for row, i in enumerate(group):
                    soft[row, : len(self.taught[i])] = self.taught[i]
                parts.append(torch.from_numpy(soft))
            yield tuple(parts)

    @torch.no_grad()  # type: ignore[untyped-decorator]
    def ask(self, model: Model) -> list[np.ndarray[Any, Any]]:
        """What a network says of each word of each sentence."""
        model.eval()
        said = []
        for x, _ in self.rows:
            scores = model(torch.from_numpy(x)[None], torch.ones(1, len(x)))[0]
            parts = [scores[:, start:end].softmax(-1) for start, end in HEADS]
            said.append(torch.cat(parts, -1).numpy())
        return said


def guess_tags(sentences: Sequence[Sentence]) -> None:
    """Write the tags of nltk's perceptron into sentences that have none: a second teacher."""
    tagger = Tagger.load()
    for sentence in sentences:
        pairs = zip(sentence.words, sentence.capitals, strict=True)
        sentence.tags[:] = tagger.tag(
            [word.capitalize() if name else word for word, name in pairs]
        )


HEADS = ((0, 3), (3, 6), (6, None))
"""Where the scores of pauses, prominence and parts of speech stand."""

TAUGHT = 0.7
"""How much a network that has teachers learns from them, the rest from the labels."""


def loss_of(
    scores: torch.Tensor, wanted: torch.Tensor, mask: torch.Tensor, soft: torch.Tensor | None
) -> torch.Tensor:
    total = torch.zeros(())
    # Where a reader was heard, the tags are only guessed.
    sure = 0.3 if (wanted[..., 0] >= 0).any() else 1.0
    for part, (start, end) in enumerate(HEADS):
        labels = wanted[..., part].flatten()
        if (labels >= 0).any():
            chosen = scores[..., start:end].flatten(0, 1)
            loss = functional.cross_entropy(chosen, labels, ignore_index=-1)
            if soft is not None:
                said = soft[..., start:end].flatten(0, 1)
                apart = -(said * chosen.log_softmax(-1)).sum(-1)
                taught = (apart * mask.flatten()).sum() / mask.sum()
                loss = TAUGHT * taught + (1 - TAUGHT) * loss
            total = total + (sure if part == 2 else 1.0) * loss
    return total


@torch.no_grad()  # type: ignore[untyped-decorator]
def measure(model: Model, data: Data) -> str:
    model.eval()
    pauses, golds, beats, gold_beats, tags, gold_tags = [], [], [], [], [], []
    for x, y, mask in data.batches(256, False):
        scores = model(x, mask)
        inside = x[..., 9] > 0  # the sentence's last word is no choice
        ok = (y[..., 0] >= 0) & inside
        pauses.append(scores[..., :3].softmax(-1)[..., 2][ok])
        golds.append(y[..., 0][ok] == 2)
        ok = y[..., 1] >= 0
        beats.append(1 - scores[..., 3:6].softmax(-1)[..., 0][ok])
        gold_beats.append(y[..., 1][ok] > 0)
        ok = y[..., 2] >= 0
        tags.append(scores[..., 6:].argmax(-1)[ok])
        gold_tags.append(y[..., 2][ok])
    model.train()
    parts = []
    pause, gold = torch.cat(pauses), torch.cat(golds)
    if len(pause):
        best = max(
            (2 * float((gold & (pause > t)).sum()) / float(gold.sum() + (pause > t).sum()), t)
            for t in (0.3, 0.35, 0.4, 0.45, 0.5)
        )
        right = ((torch.cat(beats) > 0.5) == torch.cat(gold_beats)).float().mean()
        parts.append(f"pause F1 {best[0]:.4f} at {best[1]}, beat {float(right):.4f}")
    if len(torch.cat(gold_tags)):
        parts.append(f"tag {float((torch.cat(tags) == torch.cat(gold_tags)).float().mean()):.4f}")
    return ", ".join(parts)


def export(model: Model, words: Sequence[str], tags: Sequence[str], path: Path) -> None:
    """Tables as whole numbers of 8 bits with a scale for each row, all else in 16 bits."""
    stored: dict[str, np.ndarray[Any, Any]] = {
        "words": np.frombuffer("\n".join(words).encode(), np.uint8),
        "tagset": np.frombuffer(" ".join(tags).encode(), np.uint8),
    }
    tables = {"vectors": model.word}
    tables |= {f"spell{i}": table for i, table in enumerate(model.spell)}
    tables |= {f"place{i}": table for i, table in enumerate(model.place)}
    for name, table in tables.items():
        rows = table.weight.detach().numpy()
        scales = (np.abs(rows).max(axis=1) / 127 + 1e-6).astype(np.float16)
        stored[name] = np.round(rows / scales.astype(np.float32)[:, None]).astype(np.int8)
        stored[f"{name}_scales"] = scales
    # torch has (out, in); the biases that are only added are added here.
    turn = {name: value.detach().numpy() for name, value in model.turn.named_parameters()}
    ways = ("l0", "l0_reverse")
    inner = np.stack([turn[f"bias_hh_{way}"] for way in ways])
    new = inner[:, 2 * UNITS :].copy()
    inner[:, 2 * UNITS :] = 0
    layers = {
        "near": model.near.weight.detach().numpy().transpose(2, 1, 0),
        "near_bias": model.near.bias.detach().numpy(),
        "enter": np.stack([turn[f"weight_ih_{way}"].T for way in ways]),
        "enter_bias": np.stack([turn[f"bias_ih_{way}"] for way in ways]) + inner,
        "turn": np.stack([turn[f"weight_hh_{way}"].T for way in ways]),
        "turn_bias": new,
        "head": model.head.weight.detach().numpy().T,
        "head_bias": model.head.bias.detach().numpy(),
    }
    stored |= {name: layer.astype(np.float16) for name, layer in layers.items()}
    np.savez_compressed(path, allow_pickle=False, **stored)


def train_model(
    sizes: tuple[int, int], data: Sequence[Data], watch: Sequence[Data], epochs: int, seed: int
) -> Model:
    """A network of so many words and tags, averaged over the end of its training."""
    random.seed(seed)
    torch.manual_seed(seed)
    model = Model(*sizes)
    average = torch.optim.swa_utils.AveragedModel(
        model, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998)
    )
    steps = epochs * sum(len(d.rows) for d in data) // BATCH
    optimizer = torch.optim.AdamW(model.parameters(), lr=RATE, weight_decay=0.01)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimizer, RATE, steps + 50, pct_start=0.1)
    for epoch in range(epochs):
        streams = [d.batches(BATCH, True) for d in data]
        batches = [("read", b) for b in streams[0]] + [("tag", b) for b in streams[1]]
        random.shuffle(batches)
        total = 0.0
        for _, (x, y, mask, *soft) in batches:
            x[..., 0] *= (torch.rand(x.shape[:2]) > WORD_DROP).long()
            loss = loss_of(model(x, mask), y, mask, soft[0] if soft else None)
            optimizer.zero_grad()
            loss.backward()
            optimizer.step()
            schedule.step()
            average.update_parameters(model)
            total += loss.item()
        measured = [measure(average.module, part) for part in watch]
        print(epoch, f"{total / len(batches):.4f}", *measured, flush=True)
    trained: Model = average.module
    return trained


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("data", nargs="?", type=Path, default=ROOT.parent / "shared" / "data")
    parser.add_argument("--epochs", type=int, default=12)
    parser.add_argument("--out", type=Path, default=ROOT / "drillgen" / "data" / WEIGHTS)
    parser.add_argument("--teachers", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    torch.set_num_threads(1)
    read = list(read_prosody(options.data / "prosody" / "train.txt.gz"))
    readers = sorted({s.reader for s in read})
    held = set(readers[::20])
    tagged = list(read_tags(treebank_rows(options.data / "pos" / "train.tsv")))
    train = [s for s in read if s.reader not in held]
    tag_held, tag_train = tagged[::20], [s for i, s in enumerate(tagged) if i % 20]
    counts = Counter(word for s in (*train, *tag_train) for word in s.words)
    words = sorted(word for word, n in counts.items() if n >= COMMON and len(word) < 30)
    tags = sorted({tag for s in tagged for tag in s.tags})
    numbers = {word: i for i, word in enumerate(words, start=1)}
    tag_numbers = {tag: i for i, tag in enumerate(tags)}
    guess_tags(train)
    print(len(train), len(tag_train), len(words), "words", len(tags), "tags", flush=True)
    data = [Data(part, numbers, tag_numbers) for part in (train, tag_train)]
    watch = [
        Data([s for s in read if s.reader in held], numbers, tag_numbers),
        Data(tag_held, numbers, tag_numbers),
    ]
    sizes = len(words), len(tags)
    teachers = [
        train_model(sizes, data, watch, options.epochs, options.seed + n + 1)
        for n in range(options.teachers)
    ]
    if teachers:
        for part in data:
            answers = [part.ask(teacher) for teacher in teachers]
            part.taught = [sum(said) / len(said) for said in zip(*answers, strict=True)]
    epochs = options.epochs + 4 * bool(teachers)
    model = train_model(sizes, data, watch, epochs, options.seed)
    export(model, words, tags, options.out)
    print(options.out.stat().st_size, "bytes")


BATCH = 64
RATE = 3e-3

if __name__ == "__main__":
    main()
