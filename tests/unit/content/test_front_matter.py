"""Reading one content file: every fault with its line, never an exception."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict

from quizapp.content.front_matter import content_hash, parse_document, read_document, validate


class Idea(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    name: str
    formula: str


class Header(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)
    code: str
    title: str
    review_by: date
    critical: bool
    wrong_idea: list[Idea]


GOOD = b"""+++
code = "N99"
title = "A title" # with a comment
review_by = 2027-03-31
critical = true
[[wrong_idea]]
name = "first"
formula = '''
[not.a.header]
a = 1
'''
[[wrong_idea]]
name = "second"
formula = 'peak * 2'
+++
The stem.
"""


def faults_of(raw: bytes) -> list[str]:
    document = parse_document("c5/n99.md", raw)
    return [str(fault) for fault in validate(document, Header)[1]]


def test_a_good_file_gives_header_body_lines_and_hash() -> None:
    document = parse_document("c5/n99.md", GOOD)
    header, faults = validate(document, Header)
    assert faults == []
    assert header is not None
    assert header.review_by == date(2027, 3, 31)
    assert document.body == "The stem.\n"
    assert document.line_of("wrong_idea", 1, "formula") == 14
    assert document.line_of("wrong_idea", 0, "unheard_of") == 6
    assert document.fault_in_body("x", 1).line == 16


def test_all_faults_of_a_file_come_at_once_each_with_its_line() -> None:
    raw = GOOD.replace(b'code = "N99"', b"code = 17")
    raw = raw.replace(b"title =", b"titel =").replace(b"critical = true", b'critical = "no"')
    raw = raw.replace(b"formula = 'peak * 2'", b"formula = 3")
    found = faults_of(raw)
    assert any(text.startswith("c5/n99.md:2: error: code: must be text") for text in found)
    assert any('c5/n99.md:3: error: "titel" is not a field' in text and '"title"' in text for text in found)
    assert any(text.startswith("c5/n99.md:5: error: critical: must be true or false; found 'no'") for text in found)
    assert any(text.startswith("c5/n99.md:14: error: wrong_idea 2 formula: must be text") for text in found)
    assert any("title: this field is required" in text for text in found)
    assert len(found) == 5


@pytest.mark.parametrize(
    ("raw", "line", "words"),
    [
        (b"", 0, "empty"),
        (b"no front matter", 1, "opens the front matter"),
        (b"+++\ncode = 1\n", 1, "never closed"),
        (b"+++\ncode = 1\ncode = 2\n+++\n", 3, "given twice"),
        (b"+++\ncode = no\n+++\n", 2, "TOML"),
        (b"+++\ncode = 017\n+++\n", 2, "TOML"),
        (b"+++\n[a]\nx = nan\n+++\n", 3, "a x is NaN"),
        (b"+++\nx = -inf\n+++\n", 2, "-Infinity"),
        (b"+++\nx = " + b"[" * 3000 + b"\n+++\n", 1, "nested too deeply"),
        ("+++\nx = 1\n+++\nä".encode("utf-16"), 0, "UTF-16"),
        (b"+++\nx = 'caf\xe9'\n+++\n", 2, "byte 12 is 0xe9"),
        (b"+++\nx = 1\n+++\n\x00", 4, "U+0000"),
        ("+++\nx = 1\n+++\nabc\u202edef".encode(), 4, "U+202E"),
        (b"+++\n" + b"#" * 70_000 + b"\n+++\n", 0, "largest allowed is 65536"),
    ],
)
def test_an_unreadable_file_says_what_and_where(raw: bytes, line: int, words: str) -> None:
    (fault,) = parse_document("a.md", raw).faults
    assert fault.line == line
    assert words in fault.message


def test_line_ends_and_byte_order_mark_do_not_change_the_hash() -> None:
    windows = b"\xef\xbb\xbf" + GOOD.replace(b"\n", b"\r\n")
    assert parse_document("a.md", windows).content_hash == parse_document("a.md", GOOD).content_hash
    assert content_hash(GOOD.replace(b"\n", b"\r")) == content_hash(GOOD)
    assert content_hash(GOOD + b" ") != content_hash(GOOD)
    assert validate(parse_document("a.md", windows), Header)[1] == []


def test_numbers_with_a_point_are_exact() -> None:
    assert parse_document("a.md", b"+++\nx = 0.1\n+++\n").header["x"] == Decimal("0.1")


def test_a_link_is_refused(tmp_path: Path) -> None:
    target = tmp_path / "outside.md"
    target.write_bytes(GOOD)
    folder = tmp_path / "bank"
    folder.mkdir()
    (folder / "n99.md").symlink_to(target)
    assert "is a link" in read_document(folder, folder / "n99.md").faults[0].message


@given(st.text(max_size=200))
def test_no_text_raises(text: str) -> None:
    parse_document("a.md", text.encode("utf-8", "surrogatepass"))
    parse_document("a.md", b"+++\n" + text.encode("utf-8", "surrogatepass") + b"\n+++\n")


@given(st.binary(max_size=100))
def test_no_bytes_raise(raw: bytes) -> None:
    parse_document("a.md", raw)
