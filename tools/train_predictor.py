"""Train the letter-to-phoneme network of drillgen/speech/pronounce/neural.py.

    python tools/split_families.py --out FOLDER
    python tools/train_predictor.py align --data FOLDER
    python tools/train_predictor.py train --data FOLDER --out FOLDER --name NAME

`align` divides the phones of each training word among its letters: 0 to 3
phones per letter, by expectation maximization over letter-chunk
probabilities (the many-to-many alignment of Jiampojamarn, Kondrak & Sherif
2007, with single letters). `train` needs PyTorch (not a dependency of
drillgen) and is meant for one GPU; the learning rate follows the clock, so
that --minutes is the length of the run. It reads nothing but FOLDER.

The network: a transformer encoder over the letters and, after them, the
mnemonics of espeak-ng's rules (left out at random in training, so that the
network also works without them), with relative position biases; then a GRU
that walks over the letters and names the chunk of phones of each one, knowing
the chunks before (hard monotonic attention; Wu & Cotterell 2019).
"""

from __future__ import annotations

import argparse
import collections
import gzip
import importlib
import itertools
import math
import random
import time
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np

LETTERS: Final = "abcdefghijklmnopqrstuvwxyz'"
MAX_LETTERS: Final = 24
MAX_MNEMONICS: Final = 30
MAX_CHUNK: Final = 3
REACH: Final = 12
"""Relative positions beyond this count as this."""
RARE_CHUNK: Final = 6
RARE_MNEMONIC: Final = 20

Chunk = tuple[str, ...]
Example = tuple[str, tuple[str, ...], tuple[str, ...], float]
"""Word, mnemonics, chunk per letter (phones joined by a space), weight."""


def read_rows(path: Path) -> Iterator[list[str]]:
    with path.open(encoding="utf-8") as file:
        for line in file:
            yield line.rstrip("\n").split("\t")


# Alignment


def bare(phones: Sequence[str]) -> Chunk:
    return tuple(phone.rstrip("012") for phone in phones)


def lattice(
    word: str, phones: Chunk, cost: dict[tuple[str, Chunk], float]
) -> Iterator[tuple[int, int, int, float]]:
    """The allowed steps: letter i takes phones j to k, with its probability."""
    n, m = len(word), len(phones)
    for i in range(n):
        for j in range(min(m, i * MAX_CHUNK) + 1):
            if m - j > (n - i) * MAX_CHUNK:
                continue
            for k in range(j, min(m, j + MAX_CHUNK) + 1):
                p = cost.get((word[i], phones[j:k]), 0.0)
                if p > 0.0 and m - k <= (n - i - 1) * MAX_CHUNK:
                    yield i, j, k, p


def align_word(word: str, phones: Chunk, cost: dict[tuple[str, Chunk], float]) -> list[int] | None:
    """Most probable number of phones per letter."""
    n, m = len(word), len(phones)
    best: list[dict[int, tuple[float, int]]] = [{} for _ in range(n + 1)]
    best[0][0] = (0.0, 0)
    for i, j, k, p in lattice(word, phones, cost):
        if j in best[i]:
            score = best[i][j][0] + math.log(p)
            if k not in best[i + 1] or score > best[i + 1][k][0]:
                best[i + 1][k] = (score, j)
    if m not in best[n]:
        return None
    ends = [m]
    for i in range(n, 0, -1):
        ends.append(best[i][ends[-1]][1])
    ends.reverse()
    return [b - a for a, b in itertools.pairwise(ends)]


def estimate(pairs: Sequence[tuple[str, Chunk]], rounds: int) -> dict[tuple[str, Chunk], float]:
    """P(chunk | letter) by expectation maximization, starting from the length only."""
    start = {0: 0.3, 1: 0.6, 2: 0.09, 3: 0.01}
    cost: dict[tuple[str, Chunk], float] = {}
    for word, phones in pairs:
        for letter in set(word):
            for j in range(len(phones) + 1):
                for k in range(j, min(len(phones), j + MAX_CHUNK) + 1):
                    cost[letter, phones[j:k]] = start[k - j]
    for round_ in range(rounds):
        counts: collections.defaultdict[tuple[str, Chunk], float] = collections.defaultdict(float)
        for word, phones in pairs:
            n, m = len(word), len(phones)
            steps = list(lattice(word, phones, cost))
            forward = np.zeros((n + 1, m + 1))
            backward = np.zeros((n + 1, m + 1))
            forward[0, 0] = backward[n, m] = 1.0
            f, b = forward.tolist(), backward.tolist()
            for i, j, k, p in steps:
                f[i + 1][k] += f[i][j] * p
            for i, j, k, p in reversed(steps):
                b[i][j] += b[i + 1][k] * p
            total = f[n][m]
            if total <= 0.0:
                continue
            for i, j, k, p in steps:
                weight = f[i][j] * p * b[i + 1][k] / total
                if weight > 1e-4:
                    counts[word[i], phones[j:k]] += weight
        totals: collections.Counter[str] = collections.Counter()
        for (letter, _chunk), count in counts.items():
            totals[letter] += count  # type: ignore[assignment]
        # Long chunks have to earn their place against two short ones.
        cost = {
            (letter, chunk): count / totals[letter] * (0.3 if len(chunk) > 1 else 1.0)
            for (letter, chunk), count in counts.items()
            if count > 0.02 * (round_ + 1)
        }
        print(f"alignment round {round_ + 1}: {len(cost)} letter-chunk pairs", flush=True)
    return cost


def align(data: Path) -> None:
    rows = [row for row in read_rows(data / "pronunciations.tsv") if len(row[1]) <= MAX_LETTERS]
    train = [
        (row[1], bare(said.split()))
        for row in rows
        if row[0] == "train"
        for said in row[5].split(" | ")
    ]
    cost = estimate(random.Random(1).sample(train, min(len(train), 16_000)), 6)
    # Words outside the sample may hold pairs that it lacks.
    floor = {
        (letter, phones[j : j + 1]): 1e-6
        for word, phones in train
        for letter in set(word)
        for j in range(len(phones))
    }
    cost = {**floor, **{(letter, ()): 1e-6 for letter in LETTERS}, **cost}
    lines = []
    lost = 0
    for part, word, _family, zipf, mnemonics, said in rows:
        if part not in ("train", "dev"):
            continue
        variants = said.split(" | ")
        for variant in variants:
            phones = tuple(variant.split())
            lengths = align_word(word, bare(phones), cost)
            if lengths is None:
                lost += 1
                continue
            chunks, at = [], 0
            for length in lengths:
                chunks.append(" ".join(phones[at : at + length]) or "_")
                at += length
            lines.append(
                f"{part}\t{word}\t{zipf}\t{mnemonics}\t{1 / len(variants):.3f}\t{'|'.join(chunks)}"
            )
    (data / "aligned.tsv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{len(lines)} pronunciations aligned, {lost} can't be")


# Training


def skeleton(phones: Sequence[str]) -> tuple[str, ...]:
    """As drillgen.speech.pronounce.compare.swap_skeleton, on plain symbols."""
    result: list[str] = []
    nurse = False
    for phone in phones:
        if phone[-1].isdigit():
            result += ("*", "R") if phone.startswith("ER") else ("*",)
        elif not (nurse and phone == "R"):
            result.append(phone)
        nurse = phone.startswith("ER")
    return tuple(result)


def split_mnemonic(mnemonic: str) -> tuple[str, int]:
    if mnemonic[0] in "',":
        return mnemonic[1:], 1 if mnemonic[0] == "'" else 2
    return mnemonic, 0


def find_fold(data: Path, fold: int, folds: int) -> frozenset[str]:
    """Training words of every family whose hash falls into a fold; none for fold -1."""
    if fold < 0:
        return frozenset()
    return frozenset(
        word
        for part, word, family, *_ in read_rows(data / "pronunciations.tsv")
        if part == "train" and zlib.crc32(family.encode()) % folds == fold
    )


def guess_folds(options: argparse.Namespace) -> None:
    """Let the network of each fold say the words that it has not learnt."""
    from multiprocessing import Pool

    jobs = []
    for fold in range(options.folds):
        words = find_fold(options.data, fold, options.folds)
        rows = sorted(
            (row[1], row[4])
            for row in read_rows(options.data / "pronunciations.tsv")
            if row[1] in words and "'" not in row[1]
        )
        path = options.out / f"fold{fold}.npz"
        jobs += [(path, rows[at : at + 500]) for at in range(0, len(rows), 500)]
    with (
        Pool(options.processes) as pool,
        gzip.open(options.out / "guesses.tsv.gz", "wt", encoding="utf-8") as file,
    ):
        for lines in pool.imap(guess_some, jobs):
            file.writelines(lines)


def guess_some(job: tuple[Path, list[tuple[str, str]]]) -> list[str]:
    """Lines of word, readings knowing espeak-ng's mnemonics, readings without."""
    from drillgen.speech.pronounce.neural import Network

    path, rows = job
    network = Network.load(path)
    words = [word for word, _ in rows]
    informed = network.guess(words, [mnemonics.split() for _, mnemonics in rows])
    blind = network.guess(words, [()] * len(words))
    return [
        "\t".join(
            [word]
            + [
                "|".join(
                    f"{guess.log_probability:.2f} {' '.join(map(str, guess.phones))}"
                    for guess in guesses[:most]
                )
                for guesses, most in ((informed[i], 5), (blind[i], 4))
            ]
        )
        + "\n"
        for i, word in enumerate(words)
    ]


def train(options: argparse.Namespace) -> None:
    # PyTorch is no dependency of drillgen: everything that comes from it is Any here.
    torch: Any = importlib.import_module("torch")
    F: Any = importlib.import_module("torch.nn.functional")
    nn: Any = torch.nn

    torch.manual_seed(options.seed)
    rng = random.Random(options.seed)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.backends.cuda.matmul.allow_tf32 = True
    began = time.monotonic()

    # Vocabularies
    rows = list(read_rows(options.data / "aligned.tsv"))
    count_chunks: collections.Counter[str] = collections.Counter()
    count_mnemonics: collections.Counter[str] = collections.Counter()
    for part, _word, _zipf, mnemonics, _weight, chunks in rows:
        if part == "train":
            count_chunks.update(chunks.split("|"))
            count_mnemonics.update(split_mnemonic(m)[0] for m in mnemonics.split())
    labels = [c for c, n in count_chunks.most_common() if n >= RARE_CHUNK]
    mnemonic_names = [m for m, n in count_mnemonics.most_common() if n >= RARE_MNEMONIC]
    label_of = {c: i for i, c in enumerate(labels)}
    mnemonic_of = {m: i + 1 for i, m in enumerate(mnemonic_names)}  # 0: any other
    letter_of = {c: i for i, c in enumerate(LETTERS)}
    BOS, EOS = len(LETTERS), len(LETTERS) + 1
    allowed = np.zeros((len(LETTERS), len(labels)), dtype=bool)

    def encode(word: str, mnemonics: Sequence[str]) -> tuple[list[int], list[int], list[int]]:
        pieces = [split_mnemonic(m) for m in mnemonics[:MAX_MNEMONICS]]
        return (
            [BOS, *(letter_of[c] for c in word), EOS],
            [mnemonic_of.get(m, 0) for m, _ in pieces],
            [s for _, s in pieces],
        )

    left_out = find_fold(options.data, options.fold, options.folds)
    examples: list[tuple[list[int], list[int], list[int], list[int], float]] = []
    for part, word, _zipf, mnemonics, weight, joined in rows:
        pieces = joined.split("|")
        if word in left_out:
            continue
        if part == "train" and all(c in label_of for c in pieces):
            target = [label_of[c] for c in pieces]
            for letter, label in zip(word, target, strict=True):
                allowed[letter_of[letter], label] = True
            examples.append((*encode(word, mnemonics.split()), target, float(weight)))
    gold: dict[str, tuple[tuple[str, ...], set[tuple[str, ...]], set[tuple[str, ...]]]] = {}
    for row in read_rows(options.data / "pronunciations.tsv"):
        if row[0] == "dev" and len(row[1]) <= MAX_LETTERS:
            said = [tuple(v.split()) for v in row[5].split(" | ")]
            gold[row[1]] = (
                tuple(row[4].split()),
                {skeleton(v) for v in said},
                {bare(v) for v in said},
            )
    if options.limit:
        examples = examples[: options.limit]
    print(f"{len(examples)} examples, {len(labels)} labels, {len(mnemonic_names)} mnemonics")

    Shape = tuple[int, int, int, int, int]
    shape: Shape = (
        options.width,
        options.heads,
        options.layers,
        options.inner,
        options.hidden,
    )

    class Block(nn.Module):  # type: ignore[misc]
        def __init__(self, d: int, heads: int, inner: int) -> None:
            super().__init__()
            self.heads = heads
            self.norm1, self.norm2 = nn.LayerNorm(d), nn.LayerNorm(d)
            self.qkv, self.out = nn.Linear(d, 3 * d), nn.Linear(d, d)
            self.up, self.down = nn.Linear(d, inner), nn.Linear(inner, d)
            self.bias = nn.Parameter(torch.zeros(4 * (2 * REACH + 1), heads))
            self.drop = nn.Dropout(options.dropout)

        def forward(self, x: Any, where: Any, mask: Any) -> Any:
            b, t, d = x.shape
            q, k, v = (
                self.qkv(self.norm1(x))
                .view(b, t, 3, self.heads, d // self.heads)
                .permute(2, 0, 3, 1, 4)
            )
            bias = self.bias[where].permute(2, 0, 1)[None] + mask[:, None, None, :]
            y = F.scaled_dot_product_attention(q, k, v, attn_mask=bias.to(q.dtype))
            x = x + self.drop(self.out(y.transpose(1, 2).reshape(b, t, d)))
            return x + self.drop(self.down(self.drop(F.relu(self.up(self.norm2(x))))))

    class Network(nn.Module):  # type: ignore[misc]
        def __init__(self, shape: Shape) -> None:
            super().__init__()
            d, heads, layers, inner, hidden = shape
            self.letters = nn.Embedding(len(LETTERS) + 2, d)
            self.mnemonics = nn.Embedding(len(mnemonic_names) + 1, d)
            self.stresses = nn.Embedding(3, d)
            self.blocks = nn.ModuleList(Block(d, heads, inner) for _ in range(layers))
            self.norm = nn.LayerNorm(d)
            self.previous = nn.Embedding(len(labels) + 1, 64)
            self.gru = nn.GRU(d + 64, hidden, batch_first=True)
            self.head = nn.Linear(hidden + d, len(labels))
            self.alone = nn.Linear(d, len(labels))
            self.drop = nn.Dropout(options.dropout)
            for table in (self.letters, self.mnemonics, self.stresses, self.previous):
                nn.init.normal_(table.weight, std=0.1)

        def encode(self, letters: Any, marks: Any, stresses: Any, lm: Any, mm: Any) -> Any:
            """Encoded letters, (batch, letters, d), the marks at both ends left out."""
            tl, tm = letters.shape[1], marks.shape[1]
            x = torch.cat(
                [self.letters(letters), self.mnemonics(marks) + self.stresses(stresses)], 1
            )
            x = self.drop(x)
            at = torch.cat([torch.arange(tl), torch.arange(1, tm + 1)]).to(x.device)
            kind = (torch.arange(tl + tm, device=x.device) >= tl).long()
            far = (at[:, None] - at[None]).clamp(-REACH, REACH) + REACH
            where = (kind[:, None] * 2 + kind[None]) * (2 * REACH + 1) + far
            mask = torch.cat([lm, mm], 1).float()
            mask = (1.0 - mask) * -1e4
            for block in self.blocks:
                x = block(x, where, mask)
            return self.norm(x)[:, 1 : tl - 1]

        def forward(self, *batch: Any, previous: Any) -> tuple[Any, Any]:
            x = self.drop(self.encode(*batch))
            with torch.autocast(device, enabled=False):
                x = x.float()
                h, _ = self.gru(torch.cat([x, self.drop(self.previous(previous))], 2))
                return self.head(self.drop(torch.cat([h, x], 2))), self.alone(x)

    def pack(items: Sequence[tuple[list[int], list[int], list[int]]]) -> tuple[Any, ...]:
        tl = max(len(i[0]) for i in items)
        tm = max(1, max(len(i[1]) for i in items))
        letters = np.zeros((len(items), tl), np.int64)
        m, s = np.zeros((2, len(items), tm), np.int64)
        lm, mm = np.zeros((len(items), tl), bool), np.zeros((len(items), tm), bool)
        for n, item in enumerate(items):
            letters[n, : len(item[0])] = item[0]
            m[n, : len(item[1])] = item[1]
            s[n, : len(item[2])] = item[2]
            lm[n, : len(item[0])] = mm[n, : len(item[1])] = True
        return tuple(
            torch.from_numpy(a).to(device, non_blocking=True) for a in (letters, m, s, lm, mm)
        )

    network = Network(shape).to(device)
    shadow = Network(shape).to(device)
    shadow.load_state_dict(network.state_dict())
    shadow.eval()
    print(f"{sum(p.numel() for p in network.parameters()) / 1e6:.2f} million weights on {device}")

    allow = torch.from_numpy(np.where(allowed, 0.0, -1e4).astype("f")).to(device)

    @torch.no_grad()  # type: ignore[untyped-decorator]
    def decode(networks: Sequence[Any], batch: tuple[Any, ...]) -> Any:
        """Labels, the best one at each letter by the mean log probability."""
        xs = [n.encode(*batch).float() for n in networks]
        size, steps = xs[0].shape[:2]
        hs = [torch.zeros(1, size, n.gru.hidden_size, device=device) for n in networks]
        last = torch.full((size, 1), len(labels), device=device)
        result = []
        for i in range(steps):
            total = torch.zeros(size, len(labels), device=device)
            for k, n in enumerate(networks):
                x = xs[k][:, i : i + 1]
                out, hs[k] = n.gru(torch.cat([x, n.previous(last)], 2), hs[k])
                total += F.log_softmax(n.head(torch.cat([out, x], 2))[:, 0], 1)
            letter = batch[0][:, i + 1].clamp(max=len(LETTERS) - 1)
            last = (total + allow[letter]).argmax(1, keepdim=True)
            result.append(last)
        return torch.cat(result, 1)

    def read_out(chosen: Sequence[int]) -> list[str]:
        return [p for c in chosen for p in labels[c].split() if p != "_"]

    def measure(networks: Sequence[Any], with_espeak: bool) -> tuple[float, float]:
        right = exact = 0
        words = sorted(gold, key=len)
        for at in range(0, len(words), 512):
            some = words[at : at + 512]
            batch = pack([encode(w, gold[w][0] if with_espeak else ()) for w in some])
            for word, chosen in zip(some, decode(networks, batch).tolist(), strict=True):
                phones = read_out(chosen[: len(word)])
                right += skeleton(phones) in gold[word][1]
                exact += bare(phones) in gold[word][2]
        return right / len(words), exact / len(words)

    def load(path: Path) -> Any:
        with np.load(path) as saved:
            teacher = Network(tuple(saved["shape"][:5].tolist())).to(device).eval()
            state = {k: torch.from_numpy(saved[k]).float() for k in teacher.state_dict()}
        teacher.load_state_dict(state)
        return teacher

    # Words without a pronunciation, said by the teachers together
    teachers = []
    if options.teachers:
        teachers = [load(path) for path in options.teachers]
        print("teachers on dev: swap {:.4f} exact {:.4f}".format(*measure(teachers, True)))
        count = 0
        words = [
            row for row in read_rows(options.data / "unlabelled.tsv") if len(row[0]) <= MAX_LETTERS
        ]
        words.sort(key=lambda row: len(row[0]))
        for at in range(0, len(words), 2048):
            some = [encode(row[0], row[1].split()) for row in words[at : at + 2048]]
            for item, chosen in zip(some, decode(teachers, pack(some)).tolist(), strict=True):
                examples.append((*item, chosen[: len(item[0]) - 2], options.pseudo))
                count += 1
        print(f"{count} words said by {len(teachers)} teachers")

    groups: list[list[Any]] = [[], []]
    for name, parameter in network.named_parameters():
        groups[parameter.ndim > 1 and "bias" not in name].append(parameter)
    optimizer = torch.optim.AdamW(
        [{"params": groups[0], "weight_decay": 0.0}, {"params": groups[1]}],
        lr=options.rate,
        betas=(0.9, 0.98),
        weight_decay=options.decay,
        fused=device == "cuda",
    )

    def save(done: bool) -> None:
        state = {k: v.half().cpu() for k, v in shadow.state_dict().items()}
        options.out.mkdir(parents=True, exist_ok=True)
        arrays = {k: v.numpy() for k, v in state.items()}
        np.savez(
            options.out / f"{options.name}.npz",
            shape=np.array([*shape, REACH]),
            labels=np.array(labels),
            mnemonics=np.array(mnemonic_names),
            letters=np.array(list(LETTERS)),
            allowed=allowed,
            **arrays,
        )
        print(f"saved{' the end' if done else ''}", flush=True)

    budget = options.minutes * 60
    start = time.monotonic()
    step = epoch = 0
    shown = start
    while time.monotonic() - start < budget:
        rng.shuffle(examples)
        batches = []
        span = options.batch * 24
        for at in range(0, len(examples), span):
            chunk = sorted(examples[at : at + span], key=lambda e: len(e[0]))
            batches += [chunk[k : k + options.batch] for k in range(0, len(chunk), options.batch)]
        rng.shuffle(batches)
        total = 0.0
        losses = []
        for items in batches:
            passed = (time.monotonic() - start) / budget
            if passed >= 1:
                break
            warm = min(1.0, step / 500)
            for group in optimizer.param_groups:
                group["lr"] = (
                    options.rate * warm * max(0.02, 0.5 * (1 + math.cos(math.pi * passed)))
                )
            network.train()
            inputs = [i[:3] if rng.random() > options.blind else (i[0], [], []) for i in items]
            batch = pack(inputs)
            longest = batch[0].shape[1] - 2
            goals = np.full((len(items), longest), -100, np.int64)
            for n, example in enumerate(items):
                goals[n, : len(example[3])] = example[3]
            goal = torch.from_numpy(goals).to(device, non_blocking=True)
            weight = torch.tensor([i[4] for i in items], device=device)
            previous = torch.cat(
                [torch.full_like(goal[:, :1], len(labels)), goal[:, :-1].clamp(min=0)], 1
            )
            forget = torch.rand(previous.shape, device=device) < options.forget
            previous = torch.where(forget, len(labels), previous)
            with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
                logits, alone = network(*batch, previous=previous)
            each = 0.0
            for out, share in ((logits, 1.0), (alone, 0.3)):
                each = each + share * F.cross_entropy(
                    out.float().transpose(1, 2),
                    goal,
                    label_smoothing=options.smoothing,
                    reduction="none",
                    ignore_index=-100,
                )
            loss = (each * weight[:, None]).sum() / ((goal >= 0) * weight[:, None]).sum()
            optimizer.zero_grad(set_to_none=True)
            loss.backward()
            nn.utils.clip_grad_norm_(network.parameters(), 1.0)
            optimizer.step()
            step += 1
            keep = min(options.average, (step + 1) / (step + 10))
            with torch.no_grad():
                torch._foreach_lerp_(
                    list(shadow.parameters()), list(network.parameters()), 1 - keep
                )
            losses.append(loss.detach())
        epoch += 1
        now = time.monotonic()
        if now - shown > options.show or now - start >= budget:
            shown = now
            total = torch.stack(losses).mean().item() if losses else 0.0
            swap, exact = measure([shadow], True)
            blind, blind_exact = measure([shadow], False)
            print(
                f"{options.name} epoch {epoch} step {step} {now - began:.0f} s loss {total:.4f} "
                f"dev swap {swap:.4f} exact {exact:.4f}; without espeak {blind:.4f} "
                f"{blind_exact:.4f}",
                flush=True,
            )
            save(False)
    save(True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    commands = parser.add_subparsers(dest="command", required=True)
    aligner = commands.add_parser("align")
    aligner.add_argument("--data", type=Path, required=True)
    trainer = commands.add_parser("train")
    trainer.add_argument("--data", type=Path, required=True)
    trainer.add_argument("--out", type=Path, required=True)
    trainer.add_argument("--name", default="network")
    trainer.add_argument("--minutes", type=float, default=7.0)
    trainer.add_argument("--seed", type=int, default=1)
    trainer.add_argument("--width", type=int, default=256)
    trainer.add_argument("--heads", type=int, default=4)
    trainer.add_argument("--layers", type=int, default=4)
    trainer.add_argument("--inner", type=int, default=768)
    trainer.add_argument("--hidden", type=int, default=128)
    trainer.add_argument("--dropout", type=float, default=0.2)
    trainer.add_argument("--blind", type=float, default=0.25, help="share without espeak")
    trainer.add_argument("--forget", type=float, default=0.1, help="share of unknown history")
    trainer.add_argument("--smoothing", type=float, default=0.1)
    trainer.add_argument("--rate", type=float, default=1e-3)
    trainer.add_argument("--decay", type=float, default=0.05)
    trainer.add_argument("--average", type=float, default=0.999)
    trainer.add_argument("--batch", type=int, default=512)
    trainer.add_argument("--show", type=float, default=30.0, help="seconds between measurements")
    trainer.add_argument("--limit", type=int, default=0)
    trainer.add_argument("--teachers", type=Path, nargs="*", default=[])
    trainer.add_argument("--pseudo", type=float, default=0.5, help="weight of a teachers' word")
    trainer.add_argument("--fold", type=int, default=-1, help="leave this part of families out")
    trainer.add_argument("--folds", type=int, default=4)
    guesser = commands.add_parser("guess", help="networks named fold0, fold1 … in --out")
    guesser.add_argument("--data", type=Path, required=True)
    guesser.add_argument("--out", type=Path, required=True)
    guesser.add_argument("--folds", type=int, default=4)
    guesser.add_argument("--processes", type=int, default=16)
    options = parser.parse_args()
    if options.command == "align":
        align(options.data)
    elif options.command == "guess":
        guess_folds(options)
    else:
        train(options)


if __name__ == "__main__":
    main()
