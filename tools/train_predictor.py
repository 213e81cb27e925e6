"""Train the letter-to-phoneme network of drillgen/speech/pronounce/neural.py.

    python tools/gather_words.py --out FOLDER
    python tools/align_words.py --data FOLDER
    python tools/train_predictor.py --data FOLDER --out FOLDER --name NAME

Needs PyTorch (not a dependency of drillgen) and is meant for one GPU; the
learning rate follows the clock, so that --minutes is the length of the run. It
reads nothing but FOLDER. With --fold, the words of one fold are left out, so
that the network can say words which it has not learnt. With --teachers, the
words of unlabelled.tsv are said by these networks together and learnt too.
"""

from __future__ import annotations

import argparse
import collections
import math
import random
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
import torch
import torch.nn.functional as F
from align_words import bare
from predictor_network import REACH, Network, Shape

LETTERS: Final = "abcdefghijklmnopqrstuvwxyz'"
SOURCES: Final = "CUBM"
MAX_LETTERS: Final = 24
MAX_MNEMONICS: Final = 30
RARE_CHUNK: Final = 6
RARE_MNEMONIC: Final = 20
PER_STRESS: Final = 3
DEVICE: Final = "cuda" if torch.cuda.is_available() else "cpu"


def read_rows(path: Path) -> list[list[str]]:
    return [line.split("\t") for line in path.read_text(encoding="utf-8").splitlines()]


class Vocabulary(NamedTuple):
    """What the numbers stand for."""

    labels: list[str]
    mnemonics: list[str]
    """Without stress; the row of a mnemonic is 1 + PER_STRESS * (1 + index) + stress, and
    PER_STRESS rows from 1 on stand for all others."""

    allowed: Any
    """(letters, labels): which chunks a letter can have."""

    @property
    def rows(self) -> int:
        return 1 + PER_STRESS * (len(self.mnemonics) + 1)


def make_vocabulary(rows: Sequence[Sequence[str]]) -> Vocabulary:
    chunks: collections.Counter[str] = collections.Counter()
    mnemonics: collections.Counter[str] = collections.Counter()
    for part, _fold, _word, _source, said, _weight, joined, _stress in rows:
        if part == "train":
            chunks.update(joined.split("|"))
            mnemonics.update(m.lstrip("',") or m for m in said.split())
    labels = [c for c, n in chunks.most_common() if n >= RARE_CHUNK]
    names = [m for m, n in mnemonics.most_common() if n >= RARE_MNEMONIC]
    allowed = np.zeros((len(LETTERS), len(labels)), dtype=bool)
    index = {label: i for i, label in enumerate(labels)}
    for row in rows:
        if row[0] == "train":
            for letter, chunk in zip(row[2], row[6].split("|"), strict=True):
                if chunk in index:
                    allowed[LETTERS.index(letter), index[chunk]] = True
    return Vocabulary(labels, names, allowed)


class Coder:
    """Turns words into rows of numbers."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._label = {c: i for i, c in enumerate(vocabulary.labels)}
        self._mnemonic = {m: i + 1 for i, m in enumerate(vocabulary.mnemonics)}

    def letters(self, word: str) -> list[int]:
        """1 and 2 are the ends; 0 is nothing."""
        return [1, *(LETTERS.index(c) + 3 for c in word), 2]

    def marks(self, mnemonics: str) -> list[int]:
        found = [0]
        for mnemonic in mnemonics.split()[:MAX_MNEMONICS]:
            bare_ = mnemonic.lstrip("',") or mnemonic
            stress = {"'": 1, ",": 2}.get(mnemonic[0], 0) if bare_ != mnemonic else 0
            found.append(1 + PER_STRESS * self._mnemonic.get(bare_, 0) + stress)
        return [*found, 0]

    def goals(self, joined: str) -> list[int] | None:
        pieces = joined.split("|")
        if any(piece not in self._label for piece in pieces):
            return None
        return [self._label[piece] for piece in pieces]


class Examples(NamedTuple):
    """Padded rows of numbers; `goals` and `stresses` hold -100 where nothing is asked."""

    letters: Any
    marks: Any
    sources: Any
    goals: Any
    stresses: Any
    weights: Any
    lengths: Any
    """Letters of each word, on the CPU."""


Row = tuple[list[int], list[int], int, list[int], list[int], float]


def stack(rows: Sequence[Row]) -> Examples:
    def pad(column: int, width: int, filler: int) -> Any:
        array = np.full((len(rows), width), filler, dtype=np.int64)
        for row, item in zip(array, rows, strict=True):
            values = item[column]
            assert isinstance(values, list)
            row[: len(values)] = values
        return torch.from_numpy(array).to(DEVICE)

    return Examples(
        pad(0, MAX_LETTERS + 2, 0),
        pad(1, MAX_MNEMONICS + 2, 0),
        torch.tensor([r[2] for r in rows], device=DEVICE),
        pad(3, MAX_LETTERS, -100),
        pad(4, MAX_LETTERS, -100),
        torch.tensor([r[5] for r in rows], device=DEVICE),
        np.array([len(r[0]) - 2 for r in rows]),
    )


def make_examples(
    rows: Sequence[Sequence[str]], coder: Coder, fold: int, british: float
) -> list[Row]:
    examples = []
    for part, own, word, source, mnemonics, weight, joined, stresses in rows:
        goals = coder.goals(joined)
        if part != "train" or goals is None or int(own) == fold:
            continue
        asked = [-100 if c == "-" or source in "UB" else int(c) for c in stresses]
        share = float(weight) * (british if source == "B" else 1.0)
        examples.append(
            (
                coder.letters(word),
                coder.marks(mnemonics),
                SOURCES.index(source),
                goals,
                asked,
                share,
            )
        )
    return examples


def skeleton(phones: Sequence[str]) -> tuple[str, ...]:
    """As drillgen.speech.pronounce.compare.swap_skeleton, on plain symbols."""
    result: list[str] = []
    nurse = False
    for phone in phones:
        if phone[0] in "AEIOU":
            result += ("*", "R") if phone == "ER" else ("*",)
        elif not (nurse and phone == "R"):
            result.append(phone)
        nurse = phone == "ER"
    return tuple(result)


class Judge:
    """Measures networks on the words of dev (CMUdict) and dev2 (others: Wiktionary)."""

    def __init__(self, data: Path, coder: Coder, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary
        self.forbidden = make_forbidden(vocabulary)
        self._sets = []
        for part, source in (("dev", "C"), ("dev2", "U")):
            rows = [r for r in read_rows(data / "words.tsv") if r[0] == part and r[3] == source]
            gold = [{skeleton(bare(said.split())) for said in row[5].split(" | ")} for row in rows]
            for blind in (False, True):
                packed: list[Row] = [
                    (
                        coder.letters(r[2]),
                        [0, 0] if blind else coder.marks(r[4]),
                        SOURCES.index(source),
                        [],
                        [],
                        1.0,
                    )
                    for r in rows
                ]
                self._sets.append((f"{source}{' blind' if blind else ''}", stack(packed), gold))

    def measure(self, network: Network) -> str:
        """Swap accuracy of each set, as text."""
        shares = []
        for name, examples, gold in self._sets:
            right = 0
            for at in range(0, len(gold), 1024):
                some = slice(at, at + 1024)
                chosen, _ = network.say(
                    examples.letters[some],
                    examples.marks[some],
                    examples.sources[some],
                    self.forbidden,
                )
                for labels, length, answers in zip(
                    chosen.tolist(), examples.lengths[some], gold[some], strict=True
                ):
                    said = [
                        p
                        for c in labels[:length]
                        for p in self._vocabulary.labels[c].split()
                        if p != "_"
                    ]
                    right += skeleton(said) in answers
            shares.append(f"{name} {right / len(gold):.4f}")
        return ", ".join(shares)


def make_forbidden(vocabulary: Vocabulary) -> Any:
    table = np.where(vocabulary.allowed, 0.0, -1e4).astype("f")
    return torch.from_numpy(np.concatenate([np.zeros((3, table.shape[1]), "f"), table])).to(DEVICE)


def draw_batches(lengths: Any, size: int, rng: random.Random) -> Iterator[Any]:
    """Indices of words of like length, in random order."""
    order = np.array(rng.sample(range(len(lengths)), len(lengths)))
    batches = []
    for at in range(0, len(order), size * 24):
        some = order[at : at + size * 24]
        some = some[np.argsort(lengths[some], kind="stable")]
        batches += [some[k : k + size] for k in range(0, len(some), size)]
    rng.shuffle(batches)
    yield from batches


def find_loss(network: Network, batch: Examples, options: argparse.Namespace) -> Any:
    """Mean loss of a batch. Mnemonics and history are left out at random."""
    longest = int(batch.lengths.max())
    letters, goals = batch.letters[:, : longest + 2], batch.goals[:, :longest]
    blind = torch.rand(len(letters), 1, device=DEVICE) < options.blind
    marks = torch.where(blind, 0, batch.marks)
    start = network.previous.num_embeddings - 1
    previous = torch.cat([torch.full_like(goals[:, :1], start), goals[:, :-1].clamp(min=0)], 1)
    forget = torch.rand(previous.shape, device=DEVICE) < options.forget
    previous = torch.where(forget, start, previous)
    with torch.autocast(DEVICE, torch.bfloat16, enabled=DEVICE == "cuda"):
        chunks, alone, stress = network(letters, marks, batch.sources, previous)

    def cost(out: Any, goal: Any, smoothing: float) -> Any:
        each = F.cross_entropy(
            out.float().transpose(1, 2), goal, label_smoothing=smoothing, reduction="none"
        )
        weights = (goal >= 0) * batch.weights[:, None]
        return (each * weights).sum() / weights.sum().clamp(min=1.0)

    return (
        cost(chunks, goals, options.smoothing)
        + 0.3 * cost(alone, goals, options.smoothing)
        + 0.3 * cost(stress, batch.stresses[:, :longest], 0.05)
    )


def make_optimizer(network: Network, options: argparse.Namespace) -> Any:
    groups: list[list[Any]] = [[], []]
    for name, parameter in network.named_parameters():
        groups[parameter.ndim > 1 and "bias" not in name].append(parameter)
    return torch.optim.AdamW(
        [{"params": groups[0], "weight_decay": 0.0}, {"params": groups[1]}],
        lr=options.rate,
        betas=(0.9, 0.98),
        weight_decay=options.decay,
        fused=DEVICE == "cuda",
    )


def save(path: Path, network: Network, shape: Shape, vocabulary: Vocabulary) -> None:
    """The weights as 16-bit floats, with what their rows stand for."""
    path.parent.mkdir(parents=True, exist_ok=True)
    np.savez(
        path,
        shape=np.array([shape.width, shape.heads, shape.layers, shape.inner, shape.hidden, REACH]),
        labels=np.array(vocabulary.labels),
        mnemonics=np.array(vocabulary.mnemonics),
        letters=np.array(list(LETTERS)),
        sources=np.array(list(SOURCES)),
        allowed=vocabulary.allowed,
        **{k: v.half().cpu().numpy() for k, v in network.state_dict().items()},
    )


def load(path: Path, vocabulary: Vocabulary) -> Network:
    with np.load(path) as saved:
        shape = Shape(*map(int, saved["shape"][:5]))
        network = make_network(shape, vocabulary, 0.0)
        network.eval()
        network.load_state_dict(
            {k: torch.from_numpy(saved[k]).float() for k in network.state_dict()}
        )
    return network


def make_network(shape: Shape, vocabulary: Vocabulary, dropout: float) -> Network:
    network = Network(
        shape, len(LETTERS) + 1, vocabulary.rows, len(SOURCES), len(vocabulary.labels), dropout
    )
    network.to(DEVICE)
    return network


def list_unsaid(data: Path) -> list[tuple[str, str, str]]:
    """Word, mnemonics and source of what no source says: words that are in none, twice, and
    training words that Wiktionary lacks, in its habits. Sorted by length."""
    rows = [r for r in read_rows(data / "aligned.tsv") if r[0] == "train"]
    said = {row[2] for row in rows if row[3] == "U"}
    unsaid = {(row[2], row[4], "U") for row in rows if row[2] not in said}
    for word, mnemonics in read_rows(data / "unlabelled.tsv"):
        if len(word) <= MAX_LETTERS:
            unsaid |= {(word, mnemonics, "U"), (word, mnemonics, "C")}
    return sorted(unsaid, key=lambda item: (len(item[0]), item))


@torch.no_grad()  # type: ignore[untyped-decorator]
def teach(
    teachers: Sequence[Network], data: Path, coder: Coder, vocabulary: Vocabulary, share: float
) -> list[Row]:
    """Words without a pronunciation, as the teachers say them together."""
    forbidden = make_forbidden(vocabulary)
    vowels = [any(p[0] in "AEIOU" for p in c.split()) for c in vocabulary.labels]
    words = list_unsaid(data)
    result: list[Row] = []
    for at in range(0, len(words), 2048):
        some: list[Row] = [
            (coder.letters(w), coder.marks(m), SOURCES.index(source), [], [], share)
            for w, m, source in words[at : at + 2048]
        ]
        batch = stack(some)
        letters = batch.letters[:, : int(batch.lengths.max()) + 2]
        xs = [t.encode(letters, batch.marks, batch.sources).float() for t in teachers]
        hs: list[Any] = [None] * len(teachers)
        last = torch.full((len(some), 1), len(vocabulary.labels), device=DEVICE)
        chosen = []
        for i in range(xs[0].shape[1]):
            total = forbidden[letters[:, i + 1]]
            for k, teacher in enumerate(teachers):
                x = xs[k][:, i : i + 1]
                out, hs[k] = teacher.gru(torch.cat([x, teacher.previous(last)], 2), hs[k])
                scores = teacher.head(torch.cat([out, x], 2))[:, 0]
                total = total + F.log_softmax(scores, 1)
            last = total.argmax(1, keepdim=True)
            chosen.append(last)
        degrees = torch.stack([t.stress(x) for t, x in zip(teachers, xs, strict=True)])
        marked = degrees.mean(0).argmax(2).tolist()
        for row, labels, stresses in zip(some, torch.cat(chosen, 1).tolist(), marked, strict=True):
            count = len(row[0]) - 2
            pairs = zip(labels[:count], stresses[:count], strict=True)
            asked = [degree if vowels[c] else -100 for c, degree in pairs]
            result.append((*row[:3], labels[:count], asked, share))
    return result


def update(
    network: Network,
    shadow: Network,
    optimizer: Any,
    batch: Examples,
    step: int,
    options: argparse.Namespace,
) -> Any:
    """One step of learning; `shadow` holds the moving average of the weights."""
    network.train()
    loss = find_loss(network, batch, options)
    optimizer.zero_grad(set_to_none=True)
    loss.backward()
    torch.nn.utils.clip_grad_norm_(network.parameters(), 1.0)
    optimizer.step()
    keep = min(options.average, (step + 2) / (step + 11))
    with torch.no_grad():
        torch._foreach_lerp_(list(shadow.parameters()), list(network.parameters()), 1 - keep)
    return loss.detach()


def gather_examples(options: argparse.Namespace, vocabulary: Vocabulary) -> list[Row]:
    """What is learnt: the sources' words, and those that teachers say."""
    coder = Coder(vocabulary)
    rows = read_rows(options.data / "aligned.tsv")
    found = make_examples(rows, coder, options.fold, options.british)
    if options.teachers:
        teachers = [load(path, vocabulary) for path in options.teachers]
        found += teach(teachers, options.data, coder, vocabulary, options.pseudo)
    return found[: options.limit] if options.limit else found


def train(options: argparse.Namespace) -> None:
    torch.manual_seed(options.seed)
    rng = random.Random(options.seed)
    torch.backends.cuda.matmul.allow_tf32 = True
    vocabulary = make_vocabulary(read_rows(options.data / "aligned.tsv"))
    found = gather_examples(options, vocabulary)
    examples = stack(found)
    judge = Judge(options.data, Coder(vocabulary), vocabulary)
    shape = Shape(options.width, options.heads, options.layers, options.inner, options.hidden)
    network = make_network(shape, vocabulary, options.dropout)
    shadow = make_network(shape, vocabulary, 0.0).eval()
    shadow.load_state_dict(network.state_dict())
    optimizer = make_optimizer(network, options)
    size = sum(p.numel() for p in network.parameters()) / 1e6
    print(f"{options.name}: {len(found)} examples, {len(vocabulary.labels)} labels, {size:.2f} M")

    budget, start, step, shown = options.minutes * 60, time.monotonic(), 0, time.monotonic()
    epoch = 0
    while time.monotonic() - start < budget:
        losses = []
        for some in draw_batches(examples.lengths, options.batch, rng):
            passed = (time.monotonic() - start) / budget
            if passed >= 1:
                break
            rate = min(1.0, step / 500) * max(0.02, 0.5 * (1 + math.cos(math.pi * passed)))
            for group in optimizer.param_groups:
                group["lr"] = options.rate * rate
            index = torch.from_numpy(some).to(DEVICE)
            batch = Examples._make(
                [*(column[index] for column in examples[:-1]), examples.lengths[some]]
            )
            losses.append(update(network, shadow, optimizer, batch, step, options))
            step += 1
        epoch += 1
        now = time.monotonic()
        if now - shown > options.show or now - start >= budget:
            shown = now
            mean = torch.stack(losses).mean().item() if losses else 0.0
            print(
                f"{options.name} epoch {epoch} step {step} {now - start:.0f} s loss {mean:.4f}: "
                f"{judge.measure(shadow)}",
                flush=True,
            )
    save(options.out / f"{options.name}.npz", shadow, shape, vocabulary)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    add = parser.add_argument
    add("--data", type=Path, required=True)
    add("--out", type=Path, required=True)
    add("--name", default="network")
    for name, default, text in (
        ("minutes", 7.0, "length of the run"),
        ("dropout", 0.15, ""),
        ("blind", 0.25, "share without espeak-ng"),
        ("british", 0.5, "weight of the British rows"),
        ("forget", 0.1, "share of unknown history"),
        ("smoothing", 0.1, ""),
        ("rate", 1.5e-3, ""),
        ("decay", 0.05, ""),
        ("average", 0.999, ""),
        ("pseudo", 0.5, "weight of a teachers' word"),
        ("show", 60.0, "seconds between measurements"),
    ):
        add(f"--{name}", type=float, default=default, help=text)
    for name, size, text in (
        ("seed", 1, ""),
        ("width", 192, ""),
        ("heads", 4, ""),
        ("layers", 5, ""),
        ("inner", 576, ""),
        ("hidden", 128, ""),
        ("batch", 1024, ""),
        ("limit", 0, "first examples only"),
        ("fold", -1, "leave this fold out"),
    ):
        add(f"--{name}", type=int, default=size, help=text)
    add("--teachers", type=Path, nargs="*", default=[])
    train(parser.parse_args())


if __name__ == "__main__":
    main()
