"""W3C pronunciation lexicons.

Section numbers: Pronunciation Lexicon Specification (PLS) Version 1.0, W3C
Recommendation 14 October 2008. The kinds of examples are those of its section
5; the words and names are our own.
"""

from __future__ import annotations

import re
from types import MappingProxyType
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import InputError
from drillgen.core.phones import PHONE_TABLE, format_phones, parse_phones
from drillgen.core.values import Phones
from drillgen.speech.pronounce.overrides import Override, Overrides, parse_overrides
from drillgen.speech.pronounce.pls import ARPABET, NAMESPACE, read_pls, write_pls

XML_LANG = "{http://www.w3.org/XML/1998/namespace}lang"


def document(body: str, *, alphabet: str = "ipa", lang: str = "en-GB", more: str = "") -> bytes:
    text = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<lexicon version="1.0" xmlns="{NAMESPACE}" alphabet="{alphabet}" '
        f'xml:lang="{lang}"{more}>'
        f"\n{body}\n</lexicon>\n"
    )
    return text.encode()


def said(found: Overrides) -> dict[str, str]:
    return {entry.word: format_phones(entry.phones) for entry in found}


def test_several_words_of_one_sound() -> None:
    """Homophones: several graphemes in a lexeme (4.5, 5.3)."""
    body = (
        "<lexeme><grapheme>quay</grapheme><grapheme>key</grapheme><phoneme>kiː</phoneme></lexeme>"
    )
    assert said(read_pls(document(body), "x")) == {"quay": "K IY1", "key": "K IY1"}


def test_first_pronunciation_counts() -> None:
    """Several pronunciations: document order (4.9)."""
    body = (
        "<lexeme><grapheme>Huber</grapheme>"
        "<phoneme>ˈhjuːbə</phoneme><phoneme>ˈhuːbə</phoneme></lexeme>"
    )
    assert said(read_pls(document(body), "x")) == {"huber": "HH Y UW1 B AH0"}


def test_preferred_pronunciation_counts() -> None:
    """prefer="true"; of several preferred ones the first (4.6, 4.9)."""
    body = (
        "<lexeme><grapheme>Polwhele</grapheme><phoneme>ˈpɒlwiːl</phoneme>"
        '<phoneme prefer="true">pɒlˈhwiːl</phoneme><phoneme prefer="true">pɒl</phoneme></lexeme>'
    )
    assert said(read_pls(document(body), "x")) == {"polwhele": "P AA0 L HH W IY1 L"}


def test_alias_from_the_lexicon_and_the_dictionary() -> None:
    """Aliases: abbreviations, and pronunciation by other spelling (4.7, 5.5)."""
    body = (
        "<lexeme><grapheme>PQ</grapheme><alias>Pellow quay</alias></lexeme>"
        "<lexeme><grapheme>Pellow</grapheme><phoneme>ˈpɛloʊ</phoneme></lexeme>"
    )

    def lookup(word: str) -> Phones | None:
        return {"quay": parse_phones("K IY1")}.get(word)

    found = read_pls(document(body), "x", lookup)
    assert said(found) == {"pq": "P EH1 L OW0 K IY1", "pellow": "P EH1 L OW0"}
    without = read_pls(document(body), "x.pls")
    assert said(without) == {"pellow": "P EH1 L OW0"}
    assert without.warnings == (
        "x.pls, line 3: the alias 'quay' isn't in the dictionary; 'PQ' is left out",
    )


@pytest.mark.parametrize(
    "aliases",
    [{"a": "a"}, {"a": "b", "b": "a"}, {f"w{'a' * i}": f"w{'a' * (i + 1)}" for i in range(40)}],
)
def test_alias_rings_and_chains_end(aliases: dict[str, str]) -> None:
    body = "".join(
        f"<lexeme><grapheme>{word}</grapheme><alias>{other}</alias></lexeme>"
        for word, other in aliases.items()
    )
    found = read_pls(document(body), "x")
    assert said(found) == {}
    assert len(found.warnings) == len(aliases)


def test_aliases_cannot_grow_without_end() -> None:
    """Ten aliases, each ten times the next: as bad as expanding entities."""
    body = "<lexeme><grapheme>w9</grapheme><phoneme>siː</phoneme></lexeme>"
    for i in range(9):
        many = " ".join([f"w{i + 1}"] * 10)
        body += f"<lexeme><grapheme>w{i}</grapheme><alias>{many}</alias></lexeme>"
    found = read_pls(document(body), "x")
    assert max(len(entry.phones) for entry in found) <= 200
    assert any("too long" in warning for warning in found.warnings)


def test_alphabet_of_a_single_phoneme() -> None:
    """The alphabet attribute of phoneme stands above the lexicon's (4.6); vendor alphabets (2)."""
    body = (
        f'<lexeme><grapheme>one</grapheme><phoneme alphabet="{ARPABET}">W AH1 N</phoneme></lexeme>'
        '<lexeme><grapheme>two</grapheme><phoneme alphabet="x-other">tu</phoneme></lexeme>'
    )
    found = read_pls(document(body), "x.pls")
    assert said(found) == {"one": "W AH1 N"}
    assert found.warnings == (
        f'x.pls, line 3: the alphabet \'x-other\' is unknown; use "ipa" or "{ARPABET}"',
    )
    assert said(read_pls(document(body, alphabet=ARPABET), "x")) == {"one": "W AH1 N"}


def test_meta_metadata_example_role_and_foreign_elements() -> None:
    """4.2, 4.3, 4.4 (role, xml:id), 4.8; elements of other namespaces are passed over."""
    body = (
        '<meta name="subject" content="harbour words"/>'
        '<metadata><d:r xmlns:d="urn:d"><d:t>title<d:u/></d:t></d:r></metadata>'
        '<lexeme role="p:noun" xml:id="k" xmlns:p="urn:p"><grapheme>Quay</grapheme>'
        '<phoneme>kiː</phoneme><x:y xmlns:x="urn:x"><x:z/>q</x:y>'
        "<example>The quay is wet.</example></lexeme>"
    )
    schema = (
        ' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"'
        ' xsi:schemaLocation="http://www.w3.org/2005/01/pronunciation-lexicon pls.xsd"'
    )
    assert said(read_pls(document(body, more=schema), "x")) == {"quay": "K IY1"}


def test_white_space_and_slashes() -> None:
    body = "<lexeme>\n <grapheme>\n quay </grapheme>\n <phoneme> /kiː/ </phoneme>\n</lexeme>"
    assert said(read_pls(document(body), "x")) == {"quay": "K IY1"}


def test_left_out_and_guessed() -> None:
    body = (
        "<lexeme><grapheme>Pellow Quay</grapheme><phoneme>ˈpɛloʊkiː</phoneme></lexeme>\n"
        "<lexeme><grapheme>Trevanion</grapheme><phoneme>trəvænjən</phoneme></lexeme>\n"
        "<lexeme><grapheme>trevanion</grapheme><phoneme>trɛ</phoneme></lexeme>"
    )
    found = read_pls(document(body), "x.pls")
    assert said(found) == {"trevanion": "T R AH0 V AE1 N Y AH0 N"}
    assert [warning.split(":")[0] for warning in found.warnings] == [
        "x.pls, line 3",
        "x.pls, line 5",
        "x.pls, line 4",
    ]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1"])
def test_encodings(encoding: str) -> None:
    text = (
        f'<?xml version="1.0" encoding="{encoding}"?><lexicon version="1.0" alphabet="{ARPABET}" '
        f'xmlns="{NAMESPACE}" xml:lang="en"><lexeme><grapheme>café</grapheme>'
        "<phoneme>K AE0 F EY1</phoneme></lexeme></lexicon>"
    )
    assert said(read_pls(text.encode(encoding), "x")) == {"café": "K AE0 F EY1"}


GOOD = "<lexeme><grapheme>quay</grapheme><phoneme>kiː</phoneme></lexeme>"


@pytest.mark.parametrize(
    ("data", "line", "problem"),
    [
        (b"", 1, "not well-formed"),
        (b"plain text", 1, "not well-formed"),
        (b"\x89PNG\r\n", 1, "not well-formed"),
        (document(GOOD)[:-5], 4, "not well-formed"),
        (b"<html/>", 1, "<html> isn't part"),
        (b'<lexicon version="1.0" alphabet="ipa" xml:lang="en"/>', 1, "begin with <lexicon xmlns"),
        (document(GOOD).replace(b'n version="1.0"', b'n version="2.0"'), 2, "version"),
        (document(GOOD).replace(b'alphabet="ipa"', b""), 2, "alphabet is missing"),
        (document(GOOD).replace(b'xml:lang="en-GB"', b""), 2, "language is missing"),
        (document(GOOD, lang="de-DE"), 2, "the language is 'de-DE'"),
        (document("<lexeme><phoneme>a</phoneme></lexeme>"), 3, "no <grapheme>"),
        (document("\n<lexeme><grapheme>a</grapheme></lexeme>"), 4, "no <phoneme> or <alias>"),
        (document(GOOD.replace("kiː", " ")), 3, "<phoneme> is empty"),
        (document(GOOD.replace("quay", "")), 3, "<grapheme> is empty"),
        (document(GOOD.replace("<phoneme>", '<phoneme prefer="yes">')), 3, "prefer is 'yes'"),
        (document(GOOD.replace("kiː", "kʘ")), 3, "unknown IPA symbol"),
        (document(GOOD, alphabet=ARPABET), 3, "unknown phoneme"),
        (document("<word>quay</word>"), 3, "<word> inside <lexicon>"),
        (document("<grapheme>quay</grapheme>"), 3, "<grapheme> inside <lexicon>"),
        (document("stray"), 3, "text 'stray'"),
        (document(GOOD.replace("kiː", "<b>kiː</b>")), 3, "<b> inside <phoneme>"),
    ],
)
def test_errors_name_line_and_mend(data: bytes, line: int, problem: str) -> None:
    with pytest.raises(InputError) as caught:
        read_pls(data, "names.pls")
    message = str(caught.value)
    assert re.match(rf"names\.pls, line {line}[:,]", message), message
    assert problem in message
    assert ";" in message
    assert "\n" not in message


ENTITIES = [
    '<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">',
    '<!ENTITY a SYSTEM "file:///etc/hostname">',
    '<!ENTITY % p SYSTEM "http://127.0.0.1/x.dtd"> %p;',
    '<!ENTITY a SYSTEM "pic.gif" NDATA gif>',
]


@pytest.mark.parametrize("declaration", ENTITIES)
def test_entities_are_refused(declaration: str) -> None:
    good = document(GOOD.replace("quay", "&a;")).decode()
    head, rest = good.split("\n", 1)
    data = f"{head}\n<!DOCTYPE lexicon [{declaration}]>\n{rest}".encode()
    with pytest.raises(InputError, match=r"names.pls, line 2: entities aren't allowed"):
        read_pls(data, "names.pls")


def test_unknown_entities_and_encodings_are_refused() -> None:
    external = document(GOOD.replace("quay", "&a;")).replace(
        b"<lexicon", b'<!DOCTYPE lexicon SYSTEM "http://127.0.0.1/x.dtd"><lexicon', 1
    )
    with pytest.raises(InputError, match="entities aren't allowed"):
        read_pls(external, "x")
    with pytest.raises(InputError, match="UTF-8"):
        read_pls(b'<?xml version="1.0" encoding="no-such"?><lexicon/>', "x")


def check_pls(text: str) -> None:
    """The rules of sections 4.1 to 4.8 for what we write, as the schema has them."""
    root = ElementTree.fromstring(text.encode())
    space = f"{{{NAMESPACE}}}"
    assert text.startswith('<?xml version="1.0" encoding="UTF-8"?>\n')
    assert root.tag == f"{space}lexicon"
    assert root.attrib == {"version": "1.0", "alphabet": "ipa", XML_LANG: "en"}
    assert not (root.text or "").strip()
    for lexeme in root:
        assert lexeme.tag == f"{space}lexeme"
        # grapheme+, then phoneme or alias, at least one.
        assert [child.tag for child in lexeme] == [f"{space}grapheme", f"{space}phoneme"]
        assert not (lexeme.text or "").strip()
        for child in lexeme:
            assert (child.text or "").strip()
            assert not (child.tail or "").strip()
            assert not list(child)
            assert set(child.attrib) <= {"alphabet"}
            assert re.fullmatch(r"ipa|x-[a-z-]+", child.attrib.get("alphabet", "ipa"))


def test_written_file() -> None:
    found = parse_overrides("siobhan SH AH0 V AO1 N # Ann & <Bo> --x-\nlike /laɪk/\nif IH0 F", "x")
    text = write_pls(found)
    check_pls(text)
    assert "<phoneme>ʃəˈvɔn</phoneme>" in text
    assert f'<phoneme alphabet="{ARPABET}">IH0 F</phoneme>' in text
    again = read_pls(text.encode(), "x")
    assert again.warnings == ()
    assert said(again) == said(found)
    assert again.entries["siobhan"].note == "Ann & <Bo> - -x-"
    assert write_pls(again) == text
    check_pls(write_pls(Overrides()))


_PHONES = st.lists(st.sampled_from(sorted(PHONE_TABLE)), min_size=1, max_size=8).map(
    lambda symbols: tuple(PHONE_TABLE[symbol] for symbol in symbols)
)
_WORDS = st.from_regex(r"[a-zé<&'\"][a-z'<>&é-]{0,6}[a-z]", fullmatch=True)
_NOTES = st.from_regex(r"([a-z<&]+( [a-z&>]+)*)?", fullmatch=True)


@given(st.dictionaries(_WORDS, st.tuples(_PHONES, _NOTES), max_size=5))
@settings(max_examples=150, derandomize=True, deadline=None)
def test_round_trip_is_exact(words: dict[str, tuple[Phones, str]]) -> None:
    entries = {word: Override(word, phones, 0, note) for word, (phones, note) in words.items()}
    text = write_pls(Overrides(MappingProxyType(entries)))
    check_pls(text)
    found = read_pls(text.encode(), "x")
    assert {e.word: (e.phones, e.note) for e in found} == words
    assert found.warnings == ()


@pytest.mark.parametrize("char", ["\x00", "\x0b", "\ufffe", "\ud800"])
def test_characters_that_xml_cannot_hold(char: str) -> None:
    word = f"a{char}b"
    overrides = Overrides(MappingProxyType({word: Override(word, parse_phones("EY1"), 1)}))
    with pytest.raises(InputError, match="XML can't hold"):
        write_pls(overrides)


@given(st.binary(max_size=80))
@settings(max_examples=100, derandomize=True, deadline=None)
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    with pytest.raises(InputError, match=r"^x"):
        read_pls(data, "x")
