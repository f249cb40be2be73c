"""A sheet drafted from a log: it reproduces the log, and says that it is not for loading."""

from pathlib import Path

import numpy as np
import pytest

from tests.explain.parts import AIR, AT, DEG, during, pulling, switched, with_lever
from tests.explain.told import told, told_of
from tests.runs import Run, along, charge_air, climb, governor, sheet
from tuneledger.calibrations import open_calibration
from tuneledger.calibrations.check import check
from tuneledger.calibrations.paths import as_raw
from tuneledger.calibrations.text import parse
from tuneledger.car.cases import make_case, write_case
from tuneledger.draft import Draft, draft_sheet
from tuneledger.main_job import reconcile_files
from tuneledger.statement.model import Statement, SuppliedSheet

WET = during(climb(), 24, 27) | during(climb(), 42, 49)


def drafted(statement: Statement) -> Draft:
    found = draft_sheet(statement)
    assert found is not None
    return found


def within_tolerance(statement: Statement) -> float:
    """The share of the judged samples in which the ledger balances."""
    ledger = statement.logs[0].ledger
    assert ledger is not None
    own = ledger.own & ~ledger.void & np.isfinite(ledger.unaccounted)
    assert own.mean() > 0.9
    return float((np.abs(ledger.unaccounted) <= ledger.tolerance + ledger.slack)[own].mean())


def wet_run() -> Run:
    return climb().carry("Wet", WET.astype(float)).post("x", np.where(WET, -4.0, 0.0))


def test_the_draft_of_a_run_without_any_difference_agrees_with_it() -> None:
    draft = drafted(told(climb()))
    assert draft.calibration.spark.correction == ()
    again = told(climb(), SuppliedSheet("draft.toml", draft.calibration), keep_own=True)
    assert again.verdict == "agrees"
    assert again.running is not None
    assert again.running.ranking[0].misfit_deg == pytest.approx(0.0, abs=0.05)


def test_a_rule_that_the_log_shows_becomes_a_correction_that_explains_it() -> None:
    draft = drafted(told(wet_run()))
    (one,) = draft.calibration.spark.correction
    assert one.amount == pytest.approx(-4.0)
    again = told(wet_run(), SuppliedSheet("draft.toml", draft.calibration), keep_own=True)
    assert again.verdict == "explained"
    assert [(c.kind, c.correction) for c in again.causes] == [("correction", one.id)]
    assert within_tolerance(again) > 0.99


@pytest.mark.parametrize(
    ("kind", "seed"), [("C", 611), ("H1", 603), ("H2", 604), ("H3", 613), ("H4", 605), ("A", 606)]
)
def test_the_draft_of_a_made_case_reproduces_its_log(kind: str, seed: int, tmp_path: Path) -> None:
    folder = write_case(make_case(kind, seed), tmp_path / "case")
    log = folder / "log.csv"
    before = reconcile_files([log], memory=False)
    place = tmp_path / "draft.toml"
    place.write_text(drafted(before).text, encoding="utf-8")
    again = reconcile_files([log, place], memory=False, keep_own=True)
    assert within_tolerance(again) > 0.93
    assert again.running is not None
    assert again.running.ranking[0].misfit_deg is not None
    assert again.running.ranking[0].misfit_deg < 0.75 * again.tolerance_deg
    if before.verdict in ("agrees", "explained"):
        assert again.verdict in ("agrees", "explained")


def test_it_says_in_its_first_line_and_in_its_notes_that_it_is_not_for_loading() -> None:
    draft = drafted(told(wet_run()))
    assert draft.text.startswith("# NOT FOR LOADING")
    assert draft.calibration.notes.startswith("NOT FOR LOADING")
    assert not draft.calibration.spark.complete


def test_every_part_is_marked_as_inferred_with_its_certainty() -> None:
    statement = told(wet_run())
    draft = drafted(statement)
    (one,) = draft.calibration.spark.correction
    sure = f"{int(statement.causes[0].certainty * 100 + 1e-6)} % sure"
    assert sure in one.title
    assert f"{one.id}: −4.0° while Wet is 1" in draft.calibration.notes
    remarks = [line for line in draft.text.splitlines() if line.startswith("# inferred")]
    assert len(remarks) == 2  # the map and the correction


def test_its_text_reads_back_as_the_same_calibration(tmp_path: Path) -> None:
    draft = drafted(told(wet_run()))
    place = tmp_path / "draft.toml"
    place.write_text(draft.text, encoding="utf-8")
    assert open_calibration(place) == draft.calibration
    assert check(as_raw(draft.calibration)) == draft.calibration


def test_cells_where_the_run_has_not_been_stay_unknown() -> None:
    grid = drafted(told(climb())).calibration.spark.map.grid
    assert 0.1 < np.isnan(grid).mean() < 0.9


def test_where_scheduled_is_not_logged_the_map_is_delivered_less_what_is_accounted_for() -> None:
    run = with_lever(climb()).post("lever", pulling(climb(), -4.0))
    supplied = sheet("rev-d.toml", "D", [switched("lever", -4.0)])
    statement = told(run, supplied, logged=False)
    draft = drafted(statement)
    assert [c.id for c in draft.calibration.spark.correction] == ["lever"]
    again = told(run, SuppliedSheet("draft.toml", draft.calibration), logged=False, keep_own=True)
    assert within_tolerance(again) > 0.97
    assert again.verdict == "explained"


def test_a_table_of_a_supplied_sheet_is_unknown_where_the_run_has_not_shown_it() -> None:
    run = climb().post("charge-air", along(climb(), AIR, AT, DEG))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air(DEG)]))
    (one,) = drafted(statement).calibration.spark.correction
    assert one.values == (0.0, 0.0, -3.0, -6.0)  # 36 to 61 °C, and 80 has a little share
    cold = climb(warmth=-15.0)
    colder = cold.post("charge-air", along(cold, AIR, AT, (-1.0, 0.0, -3.0, -6.0)))
    statement = told(colder, sheet("rev-d.toml", "D", [charge_air((-1.0, 0.0, -3.0, -6.0))]))
    (one,) = drafted(statement).calibration.spark.correction
    assert one.values == (-1.0, 0.0, -3.0, "?")


def test_a_channel_that_carries_a_correction_is_named_as_its_carrier() -> None:
    run = climb()
    pulled = np.where(during(run, 25, 34), np.round(-3 + np.sin(run.times), 1), 0.0)
    run = run.post("x", pulled).carry("Zq 7", -pulled)
    (one,) = drafted(told(run)).calibration.spark.correction
    assert one.logged_as == "Zq 7"
    again = told(run, SuppliedSheet("draft.toml", drafted(told(run)).calibration), keep_own=True)
    assert again.verdict == "explained"


def test_the_idle_governor_is_drafted_as_expected_work() -> None:
    run = climb().post("idle", governor(climb()))
    (one,) = drafted(told(run)).calibration.spark.correction
    assert one.reason == "idle speed"
    assert one.expected


def test_what_a_sheet_cannot_say_is_told_in_the_notes() -> None:
    run = climb()
    fixed = run.post("x", np.where(during(run, 20, 50), 15.0 - run.scheduled, 0.0))
    draft = drafted(told(fixed))
    assert draft.calibration.spark.correction == ()
    assert "Not in this sheet: A fixed advance of 15.0°" in draft.calibration.notes


def test_several_logs_make_one_map() -> None:
    statement = told_of([climb(), climb(length_s=45.0, warmth=8.0)])
    one, both = drafted(told(climb())), drafted(statement)
    assert "run-1.csv and run-2.csv" in both.calibration.title
    assert np.isfinite(both.calibration.spark.map.grid).sum() >= 0.8 * (
        np.isfinite(one.calibration.spark.map.grid).sum()
    )


def test_a_log_without_a_map_in_it_gives_no_draft() -> None:
    assert draft_sheet(told(climb(), delivered=False)) is None


def test_a_channel_named_to_break_the_sheet_does_not() -> None:
    name = 'Wet"\n[spark.map]\nvalues = ["x"]\u202e'
    run = climb().carry(name, WET.astype(float)).post("x", np.where(WET, -4.0, 0.0))
    draft = drafted(told(run))
    assert check(parse(draft.text, "draft.toml")) == draft.calibration
