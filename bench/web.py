"""How fast the local page answers, in this process, without a network.

Run: taskset -c 0 python bench/web.py [--words 300]

Prints the time of a preview of fresh 300-word texts (each sentence of our
corpora, in another order every time), beside g2p_en's whole pipeline on the
same texts in the same run: that only makes phonemes, where the page makes all
versions and their HTML. Then the time of the same preview while a long text
is worked on, as a ratio to the time alone.
"""

from __future__ import annotations

import argparse
import asyncio
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import httpx

from drillgen.corpus.reader import load_passages, load_prompts
from drillgen.web.app import build_app

HERE = Path(__file__).parent
HEADERS = {"sec-fetch-site": "same-origin"}


def varied_texts(words: int, count: int) -> list[str]:
    """Texts of about that many words from our corpora, no two alike."""
    sentences = [
        sentence.strip() + "."
        for text in (
            *(passage.text for passage in load_passages()),
            *(prompt.answer for prompt in load_prompts()),
        )
        for sentence in text.replace("\n", " ").split(".")
        if sentence.strip()
    ]
    texts = []
    place = 0
    for _ in range(count):
        parts: list[str] = []
        size = 0
        while size < words:
            # A stride that shares no factor with the number of sentences visits all of them.
            sentence = sentences[(place * 7919) % len(sentences)]
            place += 1
            parts.append(sentence)
            size += len(sentence.split())
        texts.append(" ".join(parts))
    return texts


async def time_one(client: httpx.AsyncClient, text: str) -> float:
    """Seconds from the request to the whole answer."""
    start = time.perf_counter()
    answer = await client.post("/preview", data={"text": text, "rungs": "3"})
    assert answer.status_code == 200, answer.text
    return time.perf_counter() - start


async def measure(client: httpx.AsyncClient, words: int) -> None:
    """All measurements of the page."""
    start = time.perf_counter()
    (first, *texts) = varied_texts(words, 41)
    assert (await client.get("/")).status_code == 200
    print(f"first visit: {time.perf_counter() - start:.2f} s")
    cold = await time_one(client, first)
    print(f"first text of {words} words: {1000 * cold:.0f} ms")
    times = [await time_one(client, text) for text in texts]
    alone = statistics.median(times)
    print(
        f"fresh texts of {words} words: median {1000 * alone:.1f} ms, "
        f"slowest {1000 * max(times):.1f} ms"
    )
    typed = [await time_one(client, f"{texts[0]} {more}") for more in texts[1].split()]
    print(f"the same text, one word typed: median {1000 * statistics.median(typed):.1f} ms")
    peer = time_peer(texts[0])
    print(f"g2p_en, phonemes of one such text: {1000 * peer:.0f} ms")
    print(f"  the page's whole answer takes {alone / peer:.2f} of that")
    (long,) = varied_texts(19_000, 1)
    for name, path, fields in (
        ("preview of 19,000 words", "/preview", {}),
        ("Markdown of 19,000 words", "/download", {"format": "markdown"}),
        ("PDF of 19,000 words", "/download", {"format": "pdf", "steps": "shown"}),
    ):
        start = time.perf_counter()
        task = asyncio.create_task(
            client.post(path, data={"text": long, "rungs": "3", **fields}, headers=HEADERS)
        )
        await asyncio.sleep(0.02)
        beside: list[float] = []
        while not task.done():
            beside.append(await time_one(client, texts[len(beside) % len(texts)]))
        seconds = time.perf_counter() - start
        answer = task.result()
        assert answer.status_code == 200, answer.text
        middle = statistics.median(beside)
        print(
            f"{name}: {seconds:.1f} s; short previews beside it: median "
            f"{1000 * middle:.0f} ms ({middle / alone:.1f} x alone), "
            f"slowest {1000 * max(beside):.0f} ms"
        )


def time_peer(text: str) -> float:
    """Seconds that g2p_en's whole pipeline takes, once it is warm; best of 3."""
    sys.path.insert(0, str(HERE))
    from peers import g2p_en_phonemes

    peer: Callable[[str], object] = g2p_en_phonemes()
    peer(text)
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        peer(text)
        best = min(best, time.perf_counter() - start)
    return best


async def run(words: int) -> None:
    """Start the application on an empty word list and measure it."""
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        app = build_app(Path(folder) / "words.txt")
        print(f"start: {time.perf_counter() - start:.2f} s")
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(
            transport=transport, base_url="http://localhost", headers=HEADERS, timeout=120
        ) as client:
            await measure(client, words)


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--words", type=int, default=300)
    asyncio.run(run(parser.parse_args().words))


if __name__ == "__main__":
    main()
