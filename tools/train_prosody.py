"""Train the network of drillgen/speech/prosody/network.py and write its weights.

    python tools/train_prosody.py [DATA] [--encoder FOLDER --teachers 4]

DATA is a folder with prosody/train.txt.gz (Helsinki Prosody Corpus, CC BY 4.0), pos/train.tsv
(Universal Dependencies English Web Treebank, CC BY-SA 4.0) and homographs/train (Wikipedia
Homograph Data, Apache-2.0: text without labels); the default is ../shared/data. Needs torch,
which drillgen itself does not. With --encoder, a folder with model.safetensors and vocab.txt of
all-MiniLM-L6-v2, so many teachers are tuned first (tools/prosody_teacher.py), and the network
that is written learns from the labels and from the mean of what they say, of the text without
labels too (Hinton et al. 2015, Distilling the knowledge in a neural network). On a GPU this
takes ten minutes, without one hours. One reader in twenty is held out to watch the training;
the development parts are never read.
"""

from __future__ import annotations

import argparse
import gzip
import random
import re
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import torch
from prosody_teacher import Pieces, Teacher
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

PLACES = (len(MARKS), FAR + 1, FAR + 1, FAR + 1, FAR + 1, 2)
"""Rows of the tables for the places of words: see place_features."""

SIZE, WIDTH, UNITS = 48, 80, 72
"""Numbers in a word's vector, after the look at its neighbours, and in each direction."""

KNOWN = 12800
"""So many of the commonest words have a vector; others are known by their spelling alone."""

DEVICE = "cuda" if torch.cuda.is_available() else "cpu"

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


def read_plain(folder: Path) -> Iterator[Sentence]:
    """The sentences of the homograph data, without labels."""
    for path in sorted(folder.glob("*.tsv")):
        for line in path.read_text(encoding="utf-8").split("\n")[1:]:
            found = Sentence([], [], [], [], [], [], "")
            for part in _WORDS.findall(line.split("\t")[2] if line else ""):
                if part[0].isalnum():
                    for word in filter(None, part.split("-")):
                        add_word(found, word, -1, -1, "")
                elif found.words and not found.marks[-1]:
                    found.marks[-1] = mark_number(part if part == "..." else part[0])
            if 3 < len(found.words) < 80:
                yield found


_WORDS = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*['’]?|[,.;:?!–—()\"-]+")


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
        self.place = nn.ModuleList(nn.Embedding(n, SIZE) for n in PLACES)
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
            hidden, mask.sum(1).long().cpu(), batch_first=True, enforce_sorted=False
        )
        both, _ = nn.utils.rnn.pad_packed_sequence(self.turn(packed)[0], batch_first=True)
        return self.head(torch.cat([hidden, self.drop(both)], -1))


DROP = 0.15
WORD_DROP = 0.06


def features_of(sentence: Sentence, numbers: dict[str, int]) -> np.ndarray[Any, Any]:
    ends = np.zeros(len(sentence.words), bool)
    ends[-1] = True
    places = place_features(np.array(sentence.marks), ends, np.array(sentence.capitals))
    spelled = [(numbers.get(word, 0), *spell_features(word)) for word in sentence.words]
    return np.concatenate([np.array(spelled), places], axis=1)


class Batch(NamedTuple):
    """Sentences side by side; shapes (sentences, words, …), filled up behind."""

    features: torch.Tensor
    labels: torch.Tensor
    mask: torch.Tensor
    pieces: tuple[torch.Tensor, ...]
    """Rows of the word pieces, the first and the last of each word; for teachers."""

    taught: torch.Tensor | None
    """What teachers say: chances."""


def side_by_side(rows: Sequence[Any], filler: float = 0) -> torch.Tensor:
    """Arrays that are unlike in length only, as one tensor."""
    arrays = list(map(np.asarray, rows))
    shape = (len(arrays), max(map(len, arrays)), *arrays[0].shape[1:])
    filled = np.full(shape, filler, arrays[0].dtype)
    for line, array in zip(filled, arrays, strict=True):
        line[: len(array)] = array
    return torch.from_numpy(filled).to(DEVICE)


class Data:
    """Sentences as arrays, given out in batches of like length."""

    def __init__(
        self,
        sentences: Sequence[Sentence],
        numbers: dict[str, int],
        tags: dict[str, int],
        pieces: Pieces | None = None,
    ) -> None:
        self.features = [features_of(s, numbers) for s in sentences]
        self.labels = [
            np.array([s.pauses, s.beats, [tags.get(tag, -1) for tag in s.tags]]).T
            for s in sentences
        ]
        self.pieces = [pieces.read(s.words, s.marks) for s in sentences] if pieces else []
        self.taught: list[np.ndarray[Any, Any]] = []
        """Per sentence, what teachers say of each word: chances, shape (words, scores)."""

    def batches(self, size: int, shuffle: bool) -> Iterator[tuple[list[int], Batch]]:
        """Numbers of sentences, and these as a batch."""
        order = list(range(len(self.features)))
        if shuffle:
            random.shuffle(order)
        chunks = [order[i : i + 50 * size] for i in range(0, len(order), 50 * size)]
        groups = []
        for chunk in chunks:
            chunk.sort(key=lambda i: len(self.features[i]))
            groups += [chunk[i : i + size] for i in range(0, len(chunk), size)]
        if shuffle:
            random.shuffle(groups)
        for group in groups:
            features, labels = ([part[i] for i in group] for part in (self.features, self.labels))
            pieces = zip(*(self.pieces[i] for i in group), strict=True) if self.pieces else ()
            yield (
                group,
                Batch(
                    side_by_side(features),
                    side_by_side(labels, -1),
                    side_by_side([np.ones(len(rows), np.float32) for rows in features]),
                    tuple(side_by_side(rows) for rows in pieces),
                    side_by_side([self.taught[i] for i in group]) if self.taught else None,
                ),
            )

    @torch.no_grad()  # type: ignore[untyped-decorator]
    def ask(self, model: nn.Module) -> list[np.ndarray[Any, Any]]:
        """What a network says of each word of each sentence."""
        model.eval()
        said: dict[int, np.ndarray[Any, Any]] = {}
        for group, batch in self.batches(256, False):
            scores = score(model, batch)
            chances = torch.cat([scores[..., a:b].softmax(-1) for a, b in HEADS], -1).cpu().numpy()
            said |= {
                i: row[: len(self.features[i])] for i, row in zip(group, chances, strict=True)
            }
        model.train()
        return [said[i] for i in range(len(said))]


def score(model: nn.Module, batch: Batch) -> torch.Tensor:
    """A network's scores for each word; a teacher reads in 16 bits on a GPU."""
    taught = isinstance(model, Teacher)
    with torch.autocast(DEVICE, torch.bfloat16, enabled=taught and DEVICE == "cuda"):
        scores: torch.Tensor = model(batch.features, batch.mask, *(batch.pieces if taught else ()))
    return scores.float()


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

TAUGHT = 0.8
"""How much a network that has teachers learns from them, the rest from the labels."""


def loss_of(scores: torch.Tensor, batch: Batch) -> torch.Tensor:
    total = torch.zeros((), device=DEVICE)
    # Where a reader was heard, the tags are only guessed.
    sure = 0.3 if (batch.labels[..., 0] >= 0).any() else 1.0
    for part, (start, end) in enumerate(HEADS):
        labels = batch.labels[..., part].flatten()
        chosen = scores[..., start:end].flatten(0, 1)
        known = bool((labels >= 0).any())
        loss = torch.zeros((), device=DEVICE)
        if known:
            loss = functional.cross_entropy(chosen, labels, ignore_index=-1)
        if batch.taught is not None:
            said = batch.taught[..., start:end].flatten(0, 1)
            apart = -(said * chosen.log_softmax(-1)).sum(-1)
            taught = (apart * batch.mask.flatten()).sum() / batch.mask.sum()
            loss = TAUGHT * taught + (1 - TAUGHT) * loss if known else taught
        total = total + (sure if part == 2 else 1.0) * loss
    return total


def measure(said: Sequence[np.ndarray[Any, Any]], data: Data) -> str:
    """Phrase ends (F1 at the best limit), beats and tags that are right."""
    chances, features, labels = map(np.concatenate, (said, data.features, data.labels))
    parts = []
    heard = labels[:, 0] >= 0
    if heard.any():
        inside = heard & (features[:, 9] > 0)  # the sentence's last word is no choice
        pause, gold = chances[inside, 2], labels[inside, 0] == 2
        best = max(
            (2 * (gold & (pause > t)).sum() / (gold.sum() + (pause > t).sum()), t)
            for t in (0.3, 0.35, 0.4, 0.45, 0.5)
        )
        right = ((chances[heard, 3] < 0.5) == (labels[heard, 1] > 0)).mean()
        parts.append(f"pause F1 {best[0]:.4f} at {best[1]}, beat {right:.4f}")
    tagged = labels[:, 2] >= 0
    if tagged.any():
        right = (chances[tagged, 6:].argmax(axis=1) == labels[tagged, 2]).mean()
        parts.append(f"tag {right:.4f}")
    return ", ".join(parts)


def export(model: Any, words: Sequence[str], tags: Sequence[str], path: Path) -> None:
    """Tables as whole numbers of 8 bits with a scale for each row, all else in 16 bits."""
    stored: dict[str, np.ndarray[Any, Any]] = {
        "words": np.frombuffer("\n".join(words).encode(), np.uint8),
        "tagset": np.frombuffer(" ".join(tags).encode(), np.uint8),
    }
    tables = {"vectors": model.word}
    tables |= {f"spell{i}": table for i, table in enumerate(model.spell)}
    tables |= {f"place{i}": table for i, table in enumerate(model.place)}
    for name, table in tables.items():
        rows = table.weight.detach().cpu().numpy()
        scales = (np.abs(rows).max(axis=1) / 127 + 1e-6).astype(np.float16)
        stored[name] = np.round(rows / scales.astype(np.float32)[:, None]).astype(np.int8)
        stored[f"{name}_scales"] = scales
    # torch has (out, in); the biases that are only added are added here.
    turn = {name: value.detach().cpu().numpy() for name, value in model.turn.named_parameters()}
    ways = ("l0", "l0_reverse")
    inner = np.stack([turn[f"bias_hh_{way}"] for way in ways])
    new = inner[:, 2 * UNITS :].copy()
    inner[:, 2 * UNITS :] = 0
    layers = {
        "near": model.near.weight.detach().cpu().numpy().transpose(2, 1, 0),
        "near_bias": model.near.bias.detach().cpu().numpy(),
        "enter": np.stack([turn[f"weight_ih_{way}"].T for way in ways]),
        "enter_bias": np.stack([turn[f"bias_ih_{way}"] for way in ways]) + inner,
        "turn": np.stack([turn[f"weight_hh_{way}"].T for way in ways]),
        "turn_bias": new,
        "head": model.head.weight.detach().cpu().numpy().T,
        "head_bias": model.head.bias.detach().cpu().numpy(),
    }
    stored |= {name: layer.astype(np.float16) for name, layer in layers.items()}
    np.savez_compressed(path, allow_pickle=False, **stored)


def train_model(
    model: nn.Module,
    data: Sequence[Data],
    watch: Sequence[Data],
    epochs: int,
    rates: tuple[float, float],
    forget: float,
) -> nn.Module:
    """A network averaged over the end of its training.

    `rates`: of what begins at random, and of what was pretrained; `forget`: the share of the
    words that are known by their spelling alone.
    """
    model.to(DEVICE)
    average = torch.optim.swa_utils.AveragedModel(
        model, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(AVERAGE)
    )
    begun = list(model.encoder.parameters()) if isinstance(model, Teacher) else []
    fresh = [p for p in model.parameters() if not any(p is old for old in begun)]
    groups = [{"params": fresh, "lr": rates[0]}]
    groups += [{"params": begun, "lr": rates[1]}] if begun else []
    optimizer = torch.optim.AdamW(groups, weight_decay=0.01)
    steps = epochs * sum(len(d.features) // BATCH + 1 for d in data) + 50
    highest = [group["lr"] for group in groups]
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimizer, highest, steps, pct_start=0.1)
    for epoch in range(epochs):
        streams = [d.batches(BATCH, True) for d in data]
        order = [i for i, d in enumerate(data) for _ in range(-(-len(d.features) // BATCH))]
        random.shuffle(order)
        for stream in order:
            _, batch = next(streams[stream])
            batch.features[..., 0] *= (
                torch.rand(batch.features.shape[:2], device=DEVICE) > forget
            ).long()
            loss = loss_of(score(model, batch), batch)
            optimizer.zero_grad(set_to_none=True)
            loss.backward()
            nn.utils.clip_grad_norm_(model.parameters(), 1.0)
            optimizer.step()
            schedule.step()
            average.update_parameters(model)
        print(epoch, *(measure(part.ask(average.module), part) for part in watch), flush=True)
    trained: nn.Module = average.module
    return trained


def teach(
    encoder: Path, count: int, seed: int, scores: int, data: Sequence[Data], watch: Sequence[Data]
) -> None:
    """Write into all data what so many teachers say on average; the last part has no labels."""
    sizes = (KNOWN + 1, ENDINGS, ENDINGS, ENDINGS, SHAPES, *PLACES)
    answers = []
    for number in range(count):
        torch.manual_seed(seed + number + 1)
        model = Teacher(encoder / "model.safetensors", sizes, scores)
        model = train_model(model, data[:-1], watch, 3, (1.5e-3, 1.6e-4), 0.2)
        answers.append([part.ask(model) for part in data])
    for part, said in zip(data, zip(*answers, strict=True), strict=True):
        part.taught = [sum(rows) / len(rows) for rows in zip(*said, strict=True)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("data", nargs="?", type=Path, default=ROOT.parent / "shared" / "data")
    parser.add_argument("--epochs", type=int, default=20)
    parser.add_argument("--out", type=Path, default=ROOT / "drillgen" / "data" / WEIGHTS)
    parser.add_argument("--encoder", type=Path)
    parser.add_argument("--teachers", type=int, default=4)
    parser.add_argument("--seed", type=int, default=7)
    options = parser.parse_args()
    torch.set_num_threads(1)
    read = list(read_prosody(options.data / "prosody" / "train.txt.gz"))
    plain = list(read_plain(options.data / "homographs" / "train"))
    held = set(sorted({s.reader for s in read})[::20])
    tagged = list(read_tags(treebank_rows(options.data / "pos" / "train.tsv")))
    train = [s for s in read if s.reader not in held]
    tag_held, tag_train = tagged[::20], [s for i, s in enumerate(tagged) if i % 20]
    counts = Counter(word for s in (*train, *tag_train, *plain) for word in s.words)
    usable = (word for word in counts if len(word) < 30 and word[0].isalpha())
    words = sorted(sorted(usable, key=lambda word: (-counts[word], word))[:KNOWN])
    tags = sorted({tag for s in tagged for tag in s.tags})
    numbers = {word: i for i, word in enumerate(words, start=1)}
    tag_numbers = {tag: i for i, tag in enumerate(tags)}
    guess_tags(train)
    print(len(train), len(tag_train), len(words), "words", len(tags), "tags", flush=True)
    pieces = Pieces(options.encoder / "vocab.txt") if options.encoder else None
    data = [Data(part, numbers, tag_numbers, pieces) for part in (train, tag_train, plain)]
    watch = [
        Data([s for s in read if s.reader in held], numbers, tag_numbers, pieces),
        Data(tag_held, numbers, tag_numbers, pieces),
    ]
    if options.encoder:
        teach(options.encoder, options.teachers, options.seed, 6 + len(tags), data, watch)
    random.seed(options.seed)
    torch.manual_seed(options.seed)
    data = data if options.encoder else data[:-1]
    model = train_model(
        Model(len(words), len(tags)), data, watch, options.epochs, (4e-3, 0), WORD_DROP
    )
    export(model, words, tags, options.out)
    print(options.out.stat().st_size, "bytes")


BATCH = 128
AVERAGE = 0.995
"""How much of the average of the weights is kept at each step."""

if __name__ == "__main__":
    main()
