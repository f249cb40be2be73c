"""The sample-by-sample ledger as a file."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from tests.statements import cannot_tell, explained_by_charge_air, no_delivered, two_logs
from tuneledger.errors import OutputError
from tuneledger.ledger.model import Ledger
from tuneledger.statement import table as table_module
from tuneledger.statement.model import LogAccount
from tuneledger.statement.table import ledger_table, write_ledger


def changed(account: LogAccount, **changes: object) -> LogAccount:
    assert account.ledger is not None
    return replace(account, ledger=replace(account.ledger, **changes))  # type: ignore[arg-type]


def ledger_of(account: LogAccount) -> Ledger:
    assert account.ledger is not None
    return account.ledger


def test_columns_are_the_contracts_and_every_row_of_the_log_is_there(tmp_path: Path) -> None:
    (account,) = explained_by_charge_air().logs
    write_ledger([account], tmp_path / "ledger.csv")
    table = pl.read_csv(tmp_path / "ledger.csv")
    assert table.columns == [
        "time_s",
        "scheduled_deg",
        "delivered_deg",
        "entry:charge-air",
        "entry:idle-governor",
        "unaccounted_deg",
    ]
    assert table.height == account.log.samples
    assert table["time_s"].to_list() == pytest.approx(ledger_of(account).times.tolist())


def test_every_row_balances() -> None:
    (account,) = explained_by_charge_air().logs
    table = ledger_table([account])
    entries = table.select(pl.sum_horizontal(pl.col("^entry:.*$"))).to_series()
    left = table["delivered_deg"] - table["scheduled_deg"] - entries - table["unaccounted_deg"]
    assert left.abs().max() == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize("ending", ["csv", "parquet", "PARQUET"])
def test_what_cannot_be_computed_is_empty_and_never_zero(tmp_path: Path, ending: str) -> None:
    (account,) = cannot_tell().logs
    file = tmp_path / f"ledger.{ending}"
    write_ledger([account], file)
    table = pl.read_csv(file) if ending == "csv" else pl.read_parquet(file)
    unknown = np.isnan(ledger_of(account).entries[0].values)
    assert unknown.any()
    assert table["entry:oil-guard"].is_null().to_numpy().tolist() == unknown.tolist()
    assert table["unaccounted_deg"].is_null().to_numpy().tolist() == unknown.tolist()
    assert table.filter(~pl.Series(unknown))["entry:oil-guard"].to_list()[0] == 0.0
    if ending == "csv":
        assert "NaN" not in file.read_text()


def test_unaccounted_is_empty_where_delivered_has_no_sample_of_its_own() -> None:
    (account,) = explained_by_charge_air().logs
    own = np.zeros(account.log.samples, dtype=np.bool_)
    own[::5] = True
    table = ledger_table([changed(account, own=own)])
    assert table["unaccounted_deg"].is_not_null().to_numpy().tolist() == own.tolist()
    assert table["delivered_deg"].null_count() == 0


def test_void_rows_stay_in_the_file_without_a_number() -> None:
    (account,) = explained_by_charge_air().logs
    given = ledger_of(account).delivered.copy()
    given[:10] = np.nan
    table = ledger_table([changed(account, delivered=given)])
    assert table.height == account.log.samples
    assert table["delivered_deg"].head(10).null_count() == 10


def test_one_correction_of_two_revisions_is_one_column() -> None:
    (account,) = explained_by_charge_air().logs
    first = ledger_of(account).entries[0]
    twice = (first, replace(first, revision="C"))
    table = ledger_table([changed(account, entries=twice)])
    assert table["entry:charge-air"].to_numpy() == pytest.approx(2 * first.values)


def test_of_several_logs_each_row_names_its_log_and_absent_entries_are_zero() -> None:
    first, second = two_logs().logs
    second = changed(second, entries=())
    table = ledger_table([first, second])
    assert table.columns[0] == "log"
    assert table["log"].unique(maintain_order=True).to_list() == ["morning.csv", "afternoon.csv"]
    assert table.height == first.log.samples + second.log.samples
    assert table.filter(pl.col("log") == "afternoon.csv")["entry:charge-air"].to_list()[5] == 0.0


def test_no_degree_has_a_negative_zero_or_noise_behind_it(tmp_path: Path) -> None:
    (account,) = explained_by_charge_air().logs
    noisy = ledger_of(account).scheduled + 1e-9
    write_ledger([changed(account, scheduled=noisy)], tmp_path / "a.csv")
    cells = (tmp_path / "a.csv").read_text().replace("\n", ",").split(",")
    assert "-0.0" not in cells
    assert max(len(cell) for cell in cells[6:]) <= 8


def test_an_unknown_ending_is_refused_before_anything_is_written(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"ends in \.csv, \.parquet or \.mf4"):
        write_ledger(explained_by_charge_air().logs, tmp_path / "ledger.xlsx")
    assert list(tmp_path.iterdir()) == []


def test_a_log_without_a_ledger_has_no_rows() -> None:
    assert ledger_table(no_delivered().logs).height == 0


def test_a_long_ledger_is_one_table_with_one_header(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (account,) = explained_by_charge_air().logs
    monkeypatch.setattr(table_module, "_PART_ROWS", 7)
    write_ledger([account], tmp_path / "parts.csv")
    assert pl.read_csv(tmp_path / "parts.csv").equals(ledger_table([account]))
