"""Train the table that tells from its letters what language a name looks like.

    python tools/train_name_languages.py --out drillgen/data/name_languages.npz

Learns from the given names and surnames of the package Faker (MIT licence; install it for
this tool), from syllables put together by the rules of pinyin and of Vietnamese spelling,
from Welsh names and our table of names, from memory, and for English also from common words. A softmax
regression over pieces of 1 to 4 letters; what is kept are its weights, no names. A tenth
of the names, by a hash, is left out and measured.
"""

# ruff: noqa: SIM905, E501

from __future__ import annotations

import argparse
import hashlib
import importlib
import random
import unicodedata
from collections import Counter
from collections.abc import Collection
from pathlib import Path
from typing import Any, Final

import numpy as np

from drillgen.core.resources import load_frequencies, read_table
from drillgen.speech.pronounce.letter_rules import LANGUAGES
from drillgen.speech.pronounce.names import ENGLISH, list_pieces

DATA: Final = Path(__file__).parents[1] / "tests" / "pronounce" / "data"
LOCALES: Final = {
    "en": "en_US en_GB en_IE en_NZ",
    "ga": "ga_IE",
    "es": "es_ES es_MX es_CO es_AR es_CL",
    "pt": "pt_BR pt_PT",
    "fr": "fr_FR fr_CA fr_BE",
    "de": "de_DE de_AT",
    "pl": "pl_PL",
    "cs": "cs_CZ sk_SK",
    "it": "it_IT",
    "zh": "zh_CN",
    "vi": "vi_VN",
    "yo": "yo_NG",
    "ig": "ig_NG",
    "ak": "tw_GH",
    "sw": "sw",
    "zu": "zu_ZA",
    "ar": "fr_DZ en_PK",
    "hi": "en_IN",
    "ja": "ja_JP",
    "ko": "ko_KR",
    "tr": "tr_TR",
    "sv": "sv_SE da_DK no_NO is_IS",
    "nl": "nl_NL",
    "hu": "hu_HU",
    "hr": "hr_HR sl_SI",
    "ru": "ru_RU",
    "el": "el_GR",
}
WELSH: Final = """
Aled Alun Alwyn Aneirin Angharad Arianwen Arwel Arwyn Bedwyr Berwyn Bethan Bleddyn Branwen Bronwen
Bryn Brynmor Cadfael Cadwaladr Caradog Carwyn Carys Catrin Ceinwen Ceri Ceridwen Cerys Collwyn
Cynan Cynddylan Dafydd Deiniol Delyth Derwen Dewi Dilwyn Dilys Drystan Dwynwen Dyfan Dyfed Dyfrig
Ednyfed Efa Eifion Eilir Einir Einion Eira Eirian Eirlys Eirwen Elen Eleri Elfed Elin Eluned Elwyn
Emlyn Emrys Enfys Esyllt Eurwen Euryn Ffion Fflur Ffraid Gareth Garmon Geraint Gerallt Gethin
Glenys Glyndwr Goronwy Gruffudd Gruffydd Gruffudd Guto Gwawr Gwen Gwenda Gwenllian Gwenno Gwenyth
Gwilym Gwladys Gwyn Gwyndaf Gwyneth Gwynfor Haf Hafwen Heddwyn Hefin Heledd Heulwen Huw Hywel Iago
Idris Idwal Iestyn Ieuan Ifan Ifor Illtyd Ioan Iolo Iorwerth Islwyn Iwan Llewelyn Llinos Llio Lleu
Lleucu Llyr Llywarch Llywelyn Lowri Luned Madog Mair Maldwyn Manon Maredudd Marged Mared Medwyn
Meilir Meinir Meirion Meleri Menna Mererid Meredydd Merfyn Mihangel Morfudd Morgan Morwen Myfanwy
Myrddin Nerys Nest Nia Olwen Osian Owain Peredur Penarddun Rhain Rhian Rhiannon Rhianwen Rhisiart
Rhodri Rhonwen Rhun Rhydderch Rhydian Rhys Sian Siân Siôn Sioned Siwan Talfryn Taliesin Tegan Tegid
Tegwen Teilo Tirion Trefor Tudur Tudwal Urien Wyn Wynfor Ynyr Ystwyth Aberystwyth Llandudno
Llanelli Caernarfon Pwllheli Dolgellau Machynlleth Blaenau Ffestiniog Eryri Ceredigion Gwynedd Powys
Llangollen Ynysybwl Cwmbran Penarth Rhondda Rhymni Tywyn Betws Llanrwst Bala Harlech Bethesda
""".split()
KINDS: Final = dict(
    pair.split(":")
    for pair in """English:en Irish:ga Spanish:es French:fr Indian:hi Polish:pl Welsh:cy Italian:it
    Vietnamese:vi Japanese:ja German:de Nordic:sv Chinese:zh pinyin:zh Arabic:ar Scottish:ga
    Korean:ko Greek:el Igbo:ig Yoruba:yo Russian:ru Turkish:tr Portuguese:pt Brazilian:pt
    Hungarian:hu Romanian:hr Czech:cs Dutch:nl Akan:ak Hindi:hi Zulu:zu""".split()
)
"""Languages of our own table of names, by the first word of the remark."""

_GREEK: Final = dict(
    zip(
        "αβγδεζηθικλμνξοπρστυφχψως",
        "a v g d e z i th i k l m n x o p r s t y f ch ps o s".split(),
        strict=True,
    )
)
_RUSSIAN: Final = dict(
    zip(
        "абвгдеёжзийклмнопрстуфхцчшщъыьэюя",
        "a b v g d e yo zh z i y k l m n o p r s t u f kh ts ch sh shch  y  e yu ya".split(" "),
        strict=True,
    )
)
_INITIALS: Final = "b p m f d t n l g k h j q x zh ch sh r z c s y w".split()
_FINALS: Final = "a ai ao an ang e ei en eng i ia ie iao iu ian in iang ing iong o ou ong u ua uo uai ui uan un uang ue".split()
_ONSETS: Final = "b c ch d đ g gi h kh l m n ng nh ph qu r s t th tr v x".split()
_RIMES: Final = "a ai am an ang anh ao au ăm ăn ăng âm ân âng âu ay ây em en eo ê ên ênh i ia iêm iên iêu im in inh iêt o oa oan oai oi om on ong ô ôi ôn ông ơ ơi ơn u ua uân ung uôc uôn uy uyên uyêt ư ưng ươi ươm ương ươc y yên".split()


def draw(text: str) -> float:
    """A number from 0 to 1 that depends on the text only."""
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big") / 2.0**64


def _spell(name: str, language: str) -> str:
    if language == "ko":
        return "".join(map(_romanize, name))
    table = {"el": _GREEK, "ru": _RUSSIAN}.get(language)
    if table is None:
        return name
    plain = unicodedata.normalize("NFD", name.lower())
    text = "".join(c for c in plain if c == "\u0306" or not unicodedata.combining(c))
    text = unicodedata.normalize("NFC", text)
    text = text.replace("ου", "ou").replace("μπ", "b").replace("ντ", "nt")
    return "".join(table.get(c, c) for c in text)


def _romanize(syllable: str) -> str:
    """A Hangul syllable in the Revised Romanization."""
    number = ord(syllable) - 0xAC00
    if not 0 <= number < 11172:
        return ""
    first = "g kk n d tt r m b pp s ss  j jj ch k t p h".split(" ")
    middle = "a ae ya yae eo e yeo ye o wa wae oe yo u wo we wi yu eu ui i".split()
    last = " k k ks n nj n t l k m l l l p l m p p t t ng t t k t p t".split(" ")
    return first[number // 588] + middle[number // 28 % 21] + last[number % 28]


def gather(apart: Collection[str]) -> dict[str, list[str]]:
    """The names by language; those of our table that are not kept apart."""
    chance = random.Random(10)
    names: dict[str, list[str]] = {language: [] for language in (ENGLISH, *LANGUAGES)}
    for language, locales in LOCALES.items():
        for locale in locales.split():
            provider: Any = importlib.import_module(f"faker.providers.person.{locale}").Provider
            for field, values in vars(provider).items():
                wanted = field.startswith(("first_", "last_", "unisex_last", "middle_"))
                if (
                    not wanted
                    or "pairs" in field
                    or "kana" in field
                    or not isinstance(values, tuple | list | dict)
                ):
                    continue
                for value in values:
                    if isinstance(value, str):
                        names[language] += [
                            part for part in _spell(value, language).split() if len(part) > 1
                        ]
    names["cy"] += WELSH
    for name, _, remark in read_table("name_readings.tsv"):
        language = KINDS.get(remark.partition(" ")[0], "")
        if language and "-" not in name and name not in apart:
            names[language].append(name)
    for initial in _INITIALS:
        for final in _FINALS:
            names["zh"].append(initial + final)
    syllables = list(names["zh"])
    names["zh"] += [chance.choice(syllables) + chance.choice(syllables) for _ in range(600)]
    names["vi"] += [chance.choice(_ONSETS) + rime for rime in _RIMES for _ in range(6)]
    words = [word for word, zipf in load_frequencies().items() if zipf >= 3.0]
    names[ENGLISH] += chance.sample([word for word in words if word.isalpha()], 6000)
    result = {}
    for language, some in names.items():
        kept = {n.lower() for n in some if all(c.isalpha() or c in "'’-" for c in n)}
        plain = {unicodedata.normalize("NFD", n).encode("ascii", "ignore").decode() for n in kept}
        result[language] = sorted(
            n for n in kept | plain if len(n) > 1 and not any(ord(c) > 0x1EFF for c in n)
        )
    return result


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--least", type=int, default=6, help="how often a piece must occur")
    parser.add_argument(
        "--apart", type=Path, nargs="*", default=[DATA / "names.tsv", DATA / "more_names.tsv"]
    )
    options = parser.parse_args()

    from scipy.sparse import csr_matrix

    lines = (line for path in options.apart for line in path.read_text("utf-8").splitlines())
    names = gather({line.partition("\t")[0].lower() for line in lines})
    labels = list(names)
    rows = [(name, labels.index(lang)) for lang, some in names.items() for name in some]
    learn = [row for row in rows if draw(row[0]) >= 0.1]
    left = [row for row in rows if draw(row[0]) < 0.1]
    counts = Counter(piece for name, _ in learn for piece in set(list_pieces(name)))
    pieces = sorted(piece for piece, count in counts.items() if count >= options.least)
    index = {piece: i for i, piece in enumerate(pieces)}

    def encode(some: list[tuple[str, int]]) -> Any:
        place, column = [], []
        for i, (name, _) in enumerate(some):
            for piece in set(list_pieces(name)) & index.keys():
                place.append(i)
                column.append(index[piece])
        return csr_matrix((np.ones(len(place)), (place, column)), (len(some), len(pieces)))

    data, wanted = encode(learn), np.array([label for _, label in learn])
    sizes = np.bincount(wanted, minlength=len(labels))
    # Short lists count more than their length, long ones less.
    share = (sizes.mean() / sizes) ** 0.5
    weight = share[wanted] / len(learn)
    table, offset = np.zeros((len(pieces), len(labels))), np.zeros(len(labels))
    moments = [np.zeros_like(a) for a in (table, table, offset, offset)]
    for step in range(1, 201):
        score = data @ table + offset
        score -= score.max(axis=1, keepdims=True)
        chance = np.exp(score)
        chance /= chance.sum(axis=1, keepdims=True)
        chance[np.arange(len(learn)), wanted] -= 1
        chance *= weight[:, None]
        slopes = (data.T @ chance + 2e-6 * table, chance.sum(axis=0))
        for i, (value, slope) in enumerate(zip((table, offset), slopes, strict=True)):
            first, second = moments[2 * i], moments[2 * i + 1]
            first += 0.1 * (slope - first)
            second += 0.01 * (slope**2 - second)
            scale = 0.05 * (0.99**step + 0.02)
            value -= (
                scale * (first / (1 - 0.9**step)) / (np.sqrt(second / (1 - 0.99**step)) + 1e-9)
            )
    unit = float(np.abs(table).max() / 127)
    small = np.round(table / unit).astype(np.int8)
    score = encode(left) @ (small * unit) + offset
    right = score.argmax(axis=1) == np.array([label for _, label in left])
    for i, label in enumerate(labels):
        mine = np.array([own == i for _, own in left])
        print(f"{label} {mine.sum()} names left out, {right[mine].mean():.2f} recognised")
    print(f"all {right.mean():.3f}, {len(pieces)} pieces")
    np.savez_compressed(
        options.out,
        pieces=np.array("\n".join(pieces)),
        weights=small,
        unit=np.float32(unit),
        offset=offset.astype(np.float32),
        labels=np.array(" ".join(labels)),
    )


if __name__ == "__main__":
    main()
