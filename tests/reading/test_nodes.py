"""YAML to plain data: nothing turned silently, every trouble one clear fault with its place."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from rindwright.engine.errors import FileProblem
from rindwright.engine.reading import nodes
from rindwright.engine.reading.nodes import DEPTH_CAP, SIZE_CAP, Data, decode, key_place, read_text, read_yaml

# Each of these is a yes or no, a number, a time, a date or nothing at all to YAML 1.1.
TURNED_ELSEWHERE = [
    "no", "No", "NO", "yes", "on", "off", "y", "n", "true", "False",
    "12:30", "190:20:30", "1.10", "1.0", "010", "0x1F", "0o17", "1_000", "1e3", "+12", "-0", ".5", ".inf", "-.inf",
    ".nan", "NaN", "2026-01-02", "2026-01-02T03:04:05Z", "2001-12-14 21:59:43.10 -5", "=", "<<", "NULL", "Null",
]  # fmt: skip


@pytest.fixture(params=["the fast parser", "the plain parser"])
def either_parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    if request.param == "the plain parser":  # where PyYAML was built without its C library
        monkeypatch.setattr(nodes, "_Loader", yaml.SafeLoader)


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize("word", TURNED_ELSEWHERE)
def test_every_scalar_stays_the_text_that_was_written(word: str) -> None:
    read = read_yaml(f"a: {word}\nb: [{word}, '{word}']\n", "f")
    assert (read.data, read.faults) == ({"a": word, "b": [word, word]}, [])


@pytest.mark.usefixtures("either_parser")
def test_a_key_stays_text_too() -> None:
    read = read_yaml("no: a\n1.10: b\n12:30: c\n2026-01-02: d\n<<: e\n~: f\n", "f")
    assert read.data == {"no": "a", "1.10": "b", "12:30": "c", "2026-01-02": "d", "<<": "e", "~": "f"}


@pytest.mark.usefixtures("either_parser")
def test_only_a_bare_null_is_nothing() -> None:
    read = read_yaml("a:\nb: ~\nc: null\nd: ''\ne: '~'\nf: \"null\"\ng: |\n", "f")
    assert read.data == {"a": None, "b": None, "c": None, "d": "", "e": "~", "f": "null", "g": ""}


@pytest.mark.usefixtures("either_parser")
def test_every_value_and_key_has_its_place() -> None:
    read = read_yaml("é: 1\nb:\n  - x\n  - {c: 'y', d: [z, w]}\n", "f")
    assert read.marks[("é",)] == (1, 4)
    assert read.marks[("b", 0)] == (3, 5)
    assert read.marks[("b", 1, "c")] == (4, 9)
    assert read.marks[("b", 1, "d", 1)] == (4, 21)
    assert key_place(read, ("b", 1, "d")) == (4, 14)
    assert key_place(read, ("nowhere",)) == (1, 1)
    fault = read.fault(("b", 1, "d", 7, "deeper"), "Said.")
    assert (fault.file, fault.line, fault.column) == ("f", 4, 17)  # the nearest thing around it


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, 1, '"a" stands here a second time; first at line 1, column 1'),
        ("x:\n  - {a: 1, b: 2, a: 3}\n", 2, 18, "first at line 2, column 6"),
        ("x:\n  y:\n    'no': 1\n    no: 2\n", 4, 5, "first at line 3, column 5"),
        ("a: &x 1\n", 1, 4, "Anchors (&x)"),
        ("b: 1\n&x a: 1\n", 2, 1, "Anchors (&x)"),
        ("b: 1\na: &x\n  - 1\n", 2, 4, "Anchors (&x)"),
        ("a: 1\nb: *a\n", 2, 4, "Aliases (*a)"),
        ("- 1\n- *a\n", 2, 3, "Aliases (*a)"),
        ("<<: *a\n", 1, 5, "Aliases (*a)"),
        ("a: !!python/object/apply:os.system [x]\n", 1, 4, "Tags (tag:yaml.org,2002:python/object/apply:os.system)"),
        ("a: 1\nb:  !!str 2\n", 2, 5, "Tags"),
        ("!own {a: 1}\n", 1, 1, "Tags (!own)"),
        ("[" * 60, 1, DEPTH_CAP + 1, f"Nested more than {DEPTH_CAP} deep"),
        ('{"a":' * 60, 1, 5 * (DEPTH_CAP - 1) + 2, f"Nested more than {DEPTH_CAP} deep"),
        ("a: 1\n---\nb: 2\n", 2, 1, "A second document starts here"),
        ("a: 1\n---\n", 2, 1, "A second document starts here"),
        ("? [a]\n: b\n", 1, 3, "A key must be a word"),
        ("x: 1\n{a: b}: c\n", 2, 1, "A key must be a word"),
    ],
)
def test_what_is_not_used_here_is_one_fault_with_its_place(text: str, line: int, column: int, words: str) -> None:
    (fault,) = read_yaml(text, "f").faults
    assert (fault.file, fault.line, fault.column) == ("f", line, column)
    assert words in fault.sentence


@pytest.mark.parametrize(
    ("text", "line", "column", "words"),
    [
        ("a: 'open\n", 1, 4, "end of stream"),  # where it was opened, not where the text ran out
        ("a: 1\nb: [1, 2\n", 2, 4, "expected ',' or ']'"),
        ("a: 1\nb: {c: d\n\n\n", 2, 4, "expected ',' or '}'"),
        ("a: [1, 2\nb: 3\n", 2, 2, "expected ',' or ']'"),
        ("a:\n\t- b\n", 2, 1, "cannot start any token"),
        ("a: 1\n\tb: 2\n", 2, 1, "tab character"),
        ("a: |\n  x\n\ty\n", 3, 1, "tab character"),
        ("a: 1\n b: 2\n", 2, 3, "mapping values are not allowed"),
        ("a:\n  - b\n - c\n", 3, 2, "did not find expected key"),
        ("a:\n    b: 1\n  c: 2\n", 3, 3, "did not find expected key"),
        ("a: 1\nb:2\nc: 3\n", 3, 1, "could not find expected ':'"),
        ("a: b: c\n", 1, 5, "mapping values are not allowed"),
        ("a: @b\n", 1, 4, "cannot start any token"),
        ('a: "x\\qz"\n', 1, 6, "unknown escape character"),
        ("- a\nb: 1\n", 2, 1, "expected '-' indicator"),
        ("%YAML 9.9\n---\na\n", 1, 1, "incompatible YAML document"),
    ],
)
def test_what_is_not_yaml_is_one_fault_with_its_place(text: str, line: int, column: int, words: str) -> None:
    (fault,) = read_yaml(text, "f").faults
    assert (fault.line, fault.column) == (line, column)
    assert fault.sentence.startswith("This is not YAML: ")
    assert words in fault.sentence
    assert "\n" not in fault.sentence


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        ("a: \x00b\n", 1, 4),
        ("é: 1\nbé: x\x07x\n", 2, 6),
        ("a: 1\nb: \x1b[31m\n", 2, 4),
        ("\ud800", 1, 1),
        ("a: 1\n\n  - \udfff\n", 3, 5),
        ("a: 'open\nb: \x01", 2, 4),
        ("a: \uffff", 1, 4),
    ],
)
def test_characters_that_no_text_has(text: str, line: int, column: int) -> None:
    (fault,) = read_yaml(text, "f").faults
    assert (fault.line, fault.column) == (line, column)
    assert "not text" in fault.sentence


@pytest.mark.usefixtures("either_parser")
def test_every_key_that_stands_twice_is_named() -> None:
    read = read_yaml("a: {b: 1}\nc: 3\na: {b: 2}\nc: 4\nc: 5\n", "f")
    assert [(f.line, f.column) for f in read.faults] == [(3, 1), (4, 1), (5, 1)]
    assert [f.sentence.split("first at ")[1] for f in read.faults] == [
        "line 1, column 1.",
        "line 2, column 1.",
        "line 2, column 1.",
    ]
    assert read.data == {"a": {"b": "1"}, "c": "3"}  # what stood first is kept


def test_as_deep_as_allowed_is_read() -> None:
    deep = read_yaml("[" * DEPTH_CAP + "]" * DEPTH_CAP, "f")
    assert deep.faults == []
    assert read_yaml("[" * (DEPTH_CAP + 1) + "]" * (DEPTH_CAP + 1), "f").faults


@pytest.mark.parametrize("text", ["[" * 100_000, "- " * 100_000, '{"a":' * 100_000])
def test_a_hundred_thousand_open_things_do_not_exhaust_anything(text: str) -> None:
    (fault,) = read_yaml(text, "f").faults
    assert "nest" in fault.sentence.casefold()


@pytest.mark.parametrize(
    "text", ["", "\n\n", "# only a remark\n", "---\n", "~\n", "null", "--- \n...\n", "%YAML 1.1\n---\n"]
)
def test_a_text_that_says_nothing_is_empty(text: str) -> None:
    read = read_yaml(text, "f")
    assert (read.empty, read.data, read.faults) == (True, None, [])


@pytest.mark.parametrize("text", ["a", "''", "[]", "{}", "- ~\n", "a:\n"])
def test_a_text_that_says_something_is_not_empty(text: str) -> None:
    assert not read_yaml(text, "f").empty


def test_a_text_with_a_fault_is_not_called_empty() -> None:
    for text in ("*a", "a: 'open", "\x00", "!!str", "&x"):
        read = read_yaml(text, "f")
        assert len(read.faults) == 1
        assert not read.empty


# Without surrogates, which JSON writes as pairs that YAML does not know, and without DEL, which is no YAML text.
PLAIN = st.text(st.characters(max_codepoint=0xFFFF, exclude_categories=["Cs"], exclude_characters="\x7f"), max_size=12)
JSON_DATA = st.recursive(
    st.none() | PLAIN,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(PLAIN, inner, max_size=4),
    max_leaves=12,
)


@given(JSON_DATA, st.sampled_from([None, 2, "\t"]))
@settings(deadline=None, max_examples=150)
def test_json_text_is_read_as_what_it_says(data: Data, indent: int | str | None) -> None:
    read = read_yaml(json.dumps(data, indent=indent), "f.json")
    assert (read.data, read.faults) == (data, [])


def test_numbers_and_truths_in_json_stay_text() -> None:
    read = read_yaml('{"age_days":18,"b":1.10,"c":true,"d":null,"e":["no",-3e2]}', "f.json")
    assert read.data == {"age_days": "18", "b": "1.10", "c": "true", "d": None, "e": ["no", "-3e2"]}


def test_a_key_twice_in_json_is_a_fault_too() -> None:
    (fault,) = read_yaml('{"a": 1,\n "b": 2,\n "a": 3}', "f.json").faults
    assert (fault.line, fault.column) == (3, 2)
    assert "first at line 1, column 2" in fault.sentence


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00", "line 1, is not text in UTF-8"),
        (b"a: 1\nb: caf\xe9\n", "line 2, is not text in UTF-8"),
        (b"a: 1\x00\n", "is a binary file"),
        ("a: 1\n".encode("utf-16"), "is not text in UTF-8"),
        (b"a" * (SIZE_CAP + 1), "is too long"),
    ],
)
def test_bytes_that_are_not_text_are_one_sentence(raw: bytes, words: str) -> None:
    with pytest.raises(FileProblem, match=r"^pot\.yaml[^\n]*\.$") as caught:
        decode(raw, "pot.yaml")
    assert words in str(caught.value)


def test_a_byte_order_mark_is_not_part_of_the_text() -> None:
    assert read_yaml(decode(b"\xef\xbb\xbfa: 1\n", "f"), "f").marks[("a",)] == (1, 4)


def test_files_that_cannot_be_read_are_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    (tmp_path / "big").write_bytes(b"a" * (SIZE_CAP + 1))
    (tmp_path / "round").symlink_to(tmp_path / "round")
    for name, words in (
        ("folder", "is a folder; expected a file"),
        ("none", "does not exist"),
        ("big", "files up to 2 MB are read"),
        ("round", "cannot be read"),
        ("big/inside", "cannot be read"),
    ):
        with pytest.raises(FileProblem, match=r"^shown [^\n]*\.$") as caught:
            read_text(tmp_path / name, "shown")
        assert words in str(caught.value)
