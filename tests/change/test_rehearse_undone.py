"""The edit that undoes a cause leaves nothing of it."""

import json
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from tests.change.rehearsals import AIR, DEG, edited, hot_statement, made_case, moves
from tests.explain.parts import pulling, switched, with_lever
from tests.explain.told import told
from tests.runs import along, climb, sheet
from tests.shared import SHARED, needs_cases
from tuneledger.calibrations import open_calibration
from tuneledger.car.cases import write_case
from tuneledger.change.edits import Edit, carry_out
from tuneledger.change.rehearsal_out import rehearsed_table
from tuneledger.change.rehearse import rehearse_edit
from tuneledger.main_job import reconcile_files
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.statement.table import ledger_table


@needs_cases
def test_undoing_a_cause_leaves_nothing_of_it_in_the_shared_cases() -> None:
    """Each cause whose correction stands, switched on, in one of the sheets of its case."""
    tried = 0
    for folder in sorted(SHARED.joinpath("cases").iterdir()):
        if folder.joinpath("truth.json").is_file():
            tried += nothing_is_left(folder)
    assert tried >= 10


@pytest.mark.parametrize(("kind", "seed"), [("C", 3), ("D", 32), ("G", 31), ("I", 31)])
def test_undoing_a_cause_leaves_nothing_of_it_in_made_cases(
    tmp_path: Path, kind: str, seed: int
) -> None:
    assert nothing_is_left(write_case(made_case(kind, seed), tmp_path))


def nothing_is_left(folder: Path) -> int:
    """Switches every cause's correction off in turn; how many there were."""
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    books = pl.read_csv(folder / "truth.csv")
    tried, done = 0, set[str]()
    for name in truth["calibrations"]:
        on = {c.id for c in open_calibration(folder / name).spark.correction if c.enabled}
        wanted = ({c["correction"] for c in truth["causes"]} & on) - done
        done |= wanted
        if not wanted:
            continue
        statement = reconcile_files([folder / "log.csv", folder / name], memory=False)
        comes_out_the_same_unedited(statement)
        for cause in sorted(wanted):
            if statement.logs[0].ledger is None or f"entry:{cause}" not in books.columns:
                continue
            posted = books[f"entry:{cause}"].to_numpy()
            table = rehearsed_table(edited(statement, (f"spark.correction.{cause}.enabled", False)))
            if f"entry:{cause}" not in table.columns:
                continue  # the log does not show it at work
            left = table[f"entry:{cause}"].to_numpy()
            assert not np.nan_to_num(left).any(), f"{folder.name} {name} {cause}"
            moved = (table["rehearsed_deg"] - table["delivered_deg"]).to_numpy()
            ruled = any(c["kind"] in ("replacement", "limit") for c in truth["causes"])
            if not ruled:  # where another rules, giving back is no plain sum
                off = np.nan_to_num(moved + posted)
                assert np.sqrt(np.mean(off**2)) < 0.25, f"{folder.name} {name} {cause}"
            tried += 1
    return tried


def comes_out_the_same_unedited(statement: Statement) -> None:
    """To the last digit."""
    rehearsal = rehearse_edit(statement, statement.sheets[0].calibration, ())
    if rehearsal.ledger is None:
        return
    table, plain = rehearsed_table(rehearsal), ledger_table(statement.logs)
    assert table.drop("rehearsed_deg").equals(plain)
    assert table["rehearsed_deg"].equals(plain["delivered_deg"])
    assert rehearsal.exit_status == 0
    assert rehearsal.cells == ()


def test_undoing_the_correction_gives_back_what_it_took() -> None:
    statement = hot_statement()
    rehearsal = edited(statement, ("spark.correction.charge-air.enabled", False))
    taken = along(climb(), "intake air temperature", AIR, DEG)
    assert moves(rehearsal) == pytest.approx(-taken, abs=0.06)
    assert rehearsal.exit_status == 1


def test_a_limit_that_is_lifted_cuts_no_more() -> None:
    run = climb()
    cut = np.minimum(28.0 - run.scheduled, 0.0)
    made = sheet("rev-d.toml", "D", [])
    new, _ = carry_out(made.calibration, [Edit("spark.limits.highest", 28.0)], file="c", sheet="s")
    statement = told(run.post("limit", cut), SuppliedSheet("rev-d.toml", new))
    rehearsal = edited(statement, ("spark.limits.highest", 60.0))
    assert moves(rehearsal) == pytest.approx(-cut, abs=1e-6)
    (entry,) = [e for e in rehearsal.ledger.entries if e.correction == "limit"]  # type: ignore[union-attr]
    assert not entry.values.any()


def test_what_a_channel_carries_is_what_its_undoing_gives_back() -> None:
    """The lever's share is logged, and a tenth off what the sheet would compute."""
    run = with_lever(climb())
    share = pulling(run, -4.1)
    run = run.post("lever", share).carry("Lever share", share)
    made = sheet("rev-d.toml", "D", [switched("lever", -4.0, logged_as="Lever share")])
    statement = told(run, made)
    rehearsal = edited(statement, ("spark.correction.lever.enabled", False))
    assert moves(rehearsal) == pytest.approx(-share, abs=1e-6)
