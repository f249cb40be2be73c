"""When there is no change order."""

from dataclasses import replace

import numpy as np
import pytest

from tests.change.orders import EASED, EDIT, hot, one_sheet, ordered
from tests.explain.parts import AIR, AT, DEG, with_lever
from tests.explain.told import told, told_of
from tests.runs import along, charge_air, climb, sheet
from tuneledger.change.order import Order
from tuneledger.change.order_out import as_json, as_text
from tuneledger.pages.order import order_page


def withheld(made: Order) -> str:
    assert made.exit_status == 3
    answer = as_json(made)
    assert answer["edits"] == answer["besides"] == answer["steps"] == answer["drive"] == []
    assert "−3" not in as_text(made)
    assert "☐" not in order_page(made)
    return " ".join(made.withheld)


def test_there_is_none_where_the_sign_of_an_advance_is_in_doubt() -> None:
    statement = one_sheet()
    account = statement.logs[0]
    role = account.roles.by_signal["delivered advance"]
    roles = replace(
        account.roles,
        by_signal={
            **account.roles.by_signal,
            "delivered advance": replace(role, relabelled="sign"),
        },
    )
    statement = replace(statement, logs=(replace(account, roles=roles),))
    assert "was read against its own sign" in withheld(ordered(statement, EDIT))


@pytest.mark.parametrize("signal", ["intake air temperature", "engine speed", "scheduled advance"])
def test_there_is_none_where_a_role_that_counts_is_in_doubt(signal: str) -> None:
    statement = one_sheet()
    account = statement.logs[0]
    role = replace(account.roles.by_signal[signal], certainty=0.7)
    roles = replace(account.roles, by_signal={**account.roles.by_signal, signal: role})
    statement = replace(statement, logs=(replace(account, roles=roles),))
    assert f"as {signal} is only 70 % sure" in withheld(ordered(statement, EDIT))


def test_a_doubtful_role_that_nothing_reads_does_not_matter() -> None:
    statement = one_sheet()
    account = statement.logs[0]
    role = replace(account.roles.by_signal["idle speed target"], certainty=0.5)
    roles = replace(account.roles, by_signal={**account.roles.by_signal, "idle speed target": role})
    statement = replace(statement, logs=(replace(account, roles=roles),))
    assert ordered(statement, EDIT).withheld == ()


def test_there_is_none_where_the_car_runs_none_of_the_sheets() -> None:
    run = with_lever(climb()).post("stranger", np.where(climb().times % 20 < 9, -5.0, 0.0))
    statement = one_sheet(run=run)
    assert statement.running is not None
    assert statement.running.best is None
    assert "read the ECU back" in withheld(ordered(statement, EDIT))


def test_there_is_none_without_an_account() -> None:
    statement = told(climb(), sheet("rev-d.toml", "D", [charge_air(DEG)]), delivered=False)
    assert "carries no delivered advance" in withheld(ordered(statement, EDIT))


def test_there_is_none_where_the_logs_ran_different_revisions() -> None:
    older = sheet("rev-c.toml", "C", [charge_air(DEG)])
    newer = sheet("rev-d.toml", "D", [charge_air(EASED)])
    runs = hot(climb()), climb().post("charge-air", along(climb(), AIR, AT, EASED))
    for order in (runs, runs[::-1]):
        says = withheld(ordered(told_of(list(order), older, newer), EDIT))
        assert "these logs ran different revisions" in says
        assert "ends like revision C" in says
        assert "ends like revision D" in says


def test_two_logs_of_one_revision_are_no_reason_against_an_order() -> None:
    older = sheet("rev-c.toml", "C", [charge_air(DEG)])
    newer = sheet("rev-d.toml", "D", [charge_air(EASED)])
    assert ordered(told_of([hot(climb()), hot(climb())], older, newer), EDIT).withheld == ()
