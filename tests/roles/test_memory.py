"""What somebody said is remembered per header, never silently, and never a reason to fail."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.roles.dressing import dressed
from tuneledger.logs.model import Log
from tuneledger.roles import RolesFile, forget, identify, labels, recall, remember
from tuneledger.roles.facts import gather
from tuneledger.roles.memory import signature
from tuneledger.units import parse_unit


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TUNELEDGER_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture(scope="module")
def log() -> Log:
    return dressed(3, style="nonsense", labelled="all").log


def a_name(log: Log) -> str:
    return log.channels[5].name


def test_what_was_said_is_recalled_for_the_same_header_only(log: Log) -> None:
    assert recall(log) is None
    assert remember(log, RolesFile({"knock level": a_name(log)}))
    told = recall(log)
    assert told is not None
    assert told.roles == {"knock level": a_name(log)}
    other = replace(log, channels=log.channels[:-1])
    assert recall(other) is None


def test_the_order_of_columns_does_not_matter(log: Log) -> None:
    turned = replace(log, channels=tuple(reversed(log.channels)))
    assert signature(turned) == signature(log)


def test_a_remembered_role_is_used_and_said(log: Log) -> None:
    remember(log, RolesFile({"knock level": a_name(log)}))
    roles = identify(log, remembered=recall(log))
    assert roles.by_signal["knock level"].channel.name == a_name(log)
    assert any("remembered" in note and a_name(log) in note for note in roles.notes)


def test_a_roles_file_overrules_what_is_remembered(log: Log) -> None:
    remember(log, RolesFile({"knock level": a_name(log)}))
    other = log.channels[6].name
    roles = identify(log, roles_file=RolesFile({"knock level": other}), remembered=recall(log))
    assert roles.by_signal["knock level"].channel.name == other
    assert not any("remembered" in note for note in roles.notes)


def test_later_words_are_added_to_earlier_ones(log: Log) -> None:
    remember(log, RolesFile({"knock level": a_name(log)}))
    remember(log, RolesFile({"gear": log.channels[7].name}))
    told = recall(log)
    assert told is not None
    assert set(told.roles) == {"knock level", "gear"}


def test_it_can_be_forgotten(log: Log) -> None:
    remember(log, RolesFile({"knock level": a_name(log)}))
    assert forget(log)
    assert recall(log) is None
    assert not forget(log)


@pytest.mark.parametrize("content", ["", "nonsense [", 'format = "tuneledger-roles/1"\nx = 1'])
def test_a_damaged_memory_is_no_memory(log: Log, home: Path, content: str) -> None:
    remember(log, RolesFile({"knock level": a_name(log)}))
    next((home / "roles").iterdir()).write_text(content)
    assert recall(log) is None or (recall(log) is not None and not recall(log).roles)  # type: ignore[union-attr]


def test_a_home_that_cannot_be_written_is_no_reason_to_fail(
    log: Log, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    monkeypatch.setenv("TUNELEDGER_HOME", str(in_the_way))
    assert remember(log, RolesFile({"knock level": a_name(log)})) is None
    assert recall(log) is None
    assert not forget(log)
    monkeypatch.setenv("TUNELEDGER_HOME", "")
    assert remember(log, RolesFile({"knock level": a_name(log)})) is None


def test_a_unit_that_was_told_is_the_one_that_is_named_as_a_reason() -> None:
    """Not the label that it stands for, which may be none at all."""
    log = dressed(3, style="nonsense", labelled="all").log
    angle = parse_unit("0.1 deg")
    facts = replace(gather(log, {})[0], unit=angle)
    assert labels.says(facts, "delivered advance") == "its unit 0.1 deg is one of angle"


def test_remembered_units_are_said_like_remembered_roles(log: Log) -> None:
    remember(log, RolesFile(units={a_name(log): "0.1 deg"}))
    notes = identify(log, remembered=recall(log)).notes
    assert any("remembered" in n and f'"{a_name(log)}" is read in 0.1 deg' in n for n in notes)
    told = RolesFile(units={a_name(log): "deg"})
    notes = identify(log, roles_file=told, remembered=recall(log)).notes
    assert not any("remembered" in note for note in notes)
