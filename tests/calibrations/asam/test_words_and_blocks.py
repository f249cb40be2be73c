"""The text of a description: comments, texts, nesting, included files, and where it breaks off."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.calibrations.asam.making import described, project
from tuneledger.calibrations.asam.a2l.blocks import Reading
from tuneledger.calibrations.asam.a2l.description import read_description
from tuneledger.calibrations.asam.a2l.store import Described
from tuneledger.calibrations.asam.a2l.tokens import Page, tokens
from tuneledger.errors import CalibrationError

VALUE = """
/begin RECORD_LAYOUT L FNC_VALUES 1 UBYTE COLUMN_DIR DIRECT /end RECORD_LAYOUT
/begin CHARACTERISTIC ONE "the one" VALUE 0x10 L 0 NO_COMPU_METHOD 0 255 /end CHARACTERISTIC
"""


def words(text: str) -> list[str]:
    return [word for kind, word, _ in tokens(Page(text, "a.a2l")) if kind in ("word", "text")]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("a /* b /begin c */ d // e\nf", ["a", "d", "f"]),
        (r'"in \"quotes\"" "a \\ b" "line\nline"', ['in "quotes"', "a \\ b", "line\nline"]),
        ('"doubled ""quotes""" ""', ['doubled "quotes"', ""]),
        ('"/* no comment */ // nor this"', ["/* no comment */ // nor this"]),
        ("KF.ZW[3]._X -1.5E+3 0x1F m/s", ["KF.ZW[3]._X", "-1.5E+3", "0x1F", "m/s"]),
    ],
)
def test_words_comments_and_texts(text: str, wanted: list[str]) -> None:
    assert words(text) == wanted


def test_what_measuring_systems_add_is_passed_over_whatever_is_in_it() -> None:
    odd = '/begin IF_DATA X 1 "/end" /begin CHARACTERISTIC no /end CHARACTERISTIC /end IF_DATA'
    assert described(odd + VALUE).names == ("ONE",)


def test_an_included_file_stands_where_it_is_included_and_only_if_it_was_given() -> None:
    text = project('/include "C:\\\\data\\\\Values.a2l"')
    given = {"values.a2l": Page(VALUE, "Values.a2l")}
    found = read_description(Page(text, "main.a2l"), given)
    assert tuple(found.blocks) == ("ONE",)
    assert found.notes == ()
    without = read_description(Page(text, "main.a2l"), {})
    assert tuple(without.blocks) == ()
    assert "never opened by itself" in without.notes[0]
    assert "Values.a2l" in without.notes[0]


def test_a_path_in_a_description_is_never_opened(tmp_path: object, monkeypatch: object) -> None:
    found = read_description(Page(project('/include "/etc/hostname"'), "main.a2l"), {})
    assert found.blocks == {}
    assert "/etc/hostname" in found.notes[0]


def test_a_file_that_includes_itself_is_refused() -> None:
    page = Page(project("/include main.a2l"), "main.a2l")
    with pytest.raises(CalibrationError, match="too deeply"):
        read_description(page, {"main.a2l": page})


def test_a_file_that_is_given_and_not_included_is_named() -> None:
    found = read_description(Page(project(VALUE), "main.a2l"), {"x.aml": Page("", "x.aml")})
    assert found.notes == ("x.aml: nothing includes it; left out",)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("/begin PROJECT P", "line 1: the file ends inside PROJECT"),
        ("/begin PROJECT P /end MODULE", r"/end MODULE; expected /end PROJECT \(begun in line 1\)"),
        ("/end PROJECT", "/end PROJECT; expected no block to be open"),
        ('/begin PROJECT P\n "never', "line 2: a text without its closing quote"),
        ("/begin PROJECT P\n\n/* never", "line 3: a comment without its end"),
        ("/begin", "/begin without a name"),
        ("ASAP2_VERSION 1 71", "there is no MODULE in it"),
        ("/begin MODULE " * 100, "blocks nested too deeply"),
        ("/begin IF_DATA " * 100, "blocks nested too deeply"),
    ],
)
def test_what_is_broken_is_refused_with_its_line(text: str, says: str) -> None:
    with pytest.raises(CalibrationError, match=says):
        read_description(Page(text, "main.a2l"), {})


def test_every_prefix_of_a_description_is_refused_or_read_whole() -> None:
    text = project(VALUE)
    whole = len(text.rstrip())
    for end in range(0, whole - 1, 7):
        with pytest.raises(CalibrationError):
            read_description(Page(text[:end], "main.a2l"), {})


def test_a_million_words_of_no_interest_are_not_kept() -> None:
    noise = "/begin MEASUREMENT M /end MEASUREMENT " * 1000
    reading = Reading({})
    root = reading.tree(Page(project(noise), "main.a2l"))
    assert reading.count == 3  # PROJECT, MODULE, MOD_COMMON
    assert root.name == ""


@given(st.text("a\n \r", max_size=60))
def test_the_line_of_a_position_is_one_more_than_the_line_ends_before_it(text: str) -> None:
    page = Page(text, "kestrel.a2l")
    for at in range(len(text) + 1):
        assert page.line(at) == 1 + text[:at].count("\n")


def test_line_ends_are_looked_for_once_however_many_faults_there_are() -> None:
    class Text(str):
        counted = 0

        def count(self, *what: object) -> int:  # type: ignore[override]
            Text.counted += 1
            return super().count(*what)  # type: ignore[arg-type]

    bad = "\n".join(
        f'/begin CHARACTERISTIC C{n} "" VALUE BAD L 0 M 0 1 /end CHARACTERISTIC' for n in range(50)
    )
    description = read_description(Page(Text(project(bad)), "kestrel.a2l"), {})
    assert sum(1 for _ in Described(description).entries()) == 50
    assert Text.counted <= 1
