"""The roles file: read whole or refused with every fault, written back the same."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.roles.dressing import dressed
from tuneledger.errors import RolesError
from tuneledger.roles import RolesFile, identify, read_roles_file, roles_text
from tuneledger.roles.files import parse_roles, text_of

GOOD = """
format = "tuneledger-roles/1"
[roles]
"delivered advance" = "Adv given"
"engine speed" = "Rev"
[units]
"Boost" = "psi"
"""


def faults(text: str) -> list[str]:
    with pytest.raises(RolesError) as raised:
        parse_roles(text, "my.toml")
    return [str(fault) for fault in raised.value.faults]


def test_a_roles_file_says_signals_and_units() -> None:
    told = parse_roles(GOOD)
    assert told.roles == {"delivered advance": "Adv given", "engine speed": "Rev"}
    assert told.units == {"Boost": "psi"}


def test_every_fault_is_told_at_once_with_its_place() -> None:
    text = """
format = "tuneledger-roles/2"
extra = 1
[roles]
"engine sped" = "Rev"
"gear" = 3
"scheduled advance" = "Adv"
"delivered advance" = "Adv"
"oil pressure" = "P1"
[units]
"Boost" = "furlong"
"P1" = "degC"
"""
    told = "\n".join(faults(text))
    for part in (
        "tuneledger-roles/2",
        "extra",
        'Did you mean "engine speed"?',
        'roles."gear"',
        "cannot be both",
        '"furlong" is not known',
        '"oil pressure" cannot be in "degC"',
    ):
        assert part in told
    assert len(faults(text)) == 7
    assert all(fault.startswith("my.toml") for fault in faults(text))


@pytest.mark.parametrize("text", ["", "not toml [", "roles = 3\nformat = 'tuneledger-roles/1'"])
def test_what_is_no_roles_file_is_refused_in_words(text: str) -> None:
    assert faults(text)


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"\x00" * 10])
def test_bytes_that_are_no_text_are_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "roles.toml"
    path.write_bytes(content)
    with pytest.raises(RolesError):
        read_roles_file(path)


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RolesError, match=r"there is no such file\. Check the name"):
        read_roles_file(tmp_path / "none.toml")


NAMES = st.text(st.characters(blacklist_categories=("Cs",)), min_size=1).filter(str.strip)


@given(NAMES, NAMES)
def test_any_channel_name_survives_being_written_and_read(one: str, other: str) -> None:
    told = RolesFile({"engine speed": one}, {other: "rpm"} if other != one else {})
    again = parse_roles(text_of(told))
    assert (again.roles, again.units) == (told.roles, told.units)


def test_saved_roles_give_the_same_roles_again() -> None:
    d = dressed(41, style="english", labelled="all", faulty=True)
    found = identify(d.log)
    told = parse_roles(roles_text([found]))
    again = identify(d.log, roles_file=told)
    for signal, role in found.by_signal.items():
        repeated = again.by_signal[signal]
        assert repeated.channel == role.channel
        assert (repeated.scale, repeated.offset) == pytest.approx((role.scale, role.offset))


def test_a_name_that_the_log_lacks_is_told_with_the_nearest() -> None:
    d = dressed(7, style="english", labelled="all")
    near = d.truth["engine speed"]
    told = RolesFile({"engine speed": near + "s", "gear": "Zzz"}, {"Qqq": "psi"}, "my.toml")
    with pytest.raises(RolesError) as raised:
        identify(d.log, roles_file=told)
    text = str(raised.value)
    assert f'Did you mean "{near}"?' in text
    assert '"Zzz"' in text
    assert '"Qqq"' in text


def test_what_somebody_says_against_all_appearance_holds_and_is_told() -> None:
    d = dressed(41, style="english", labelled="all")
    water, air = d.truth["engine coolant temperature"], d.truth["intake air temperature"]
    turned = identify(d.log, roles_file=RolesFile({"intake air temperature": water}))
    assert turned.by_signal["intake air temperature"].channel.name == water
    (note,) = [n for n in turned.notes if "is said to be" in n]
    assert note.startswith(f'"{water}" is said to be intake air temperature')
    assert f'"{air}"' in note
    rightly = identify(d.log, roles_file=RolesFile({"intake air temperature": air}))
    assert not any("is said to be" in n for n in rightly.notes)
