"""Two sheets may bear one revision: what is said of either goes by its file."""

from dataclasses import replace
from typing import Any

from tests.explain.parts import AIR, AT, DEG, with_spark
from tests.explain.told import first, told
from tests.runs import MAP, along, charge_air, climb, sheet
from tuneledger.draft.basemap import drafted_map
from tuneledger.pages.names import cause_name
from tuneledger.pages.proof import proofs
from tuneledger.roles.inputs import LogInputs
from tuneledger.statement.model import Statement, SuppliedSheet

RUN = climb()
TAKEN = along(RUN, AIR, AT, DEG)
MILD = (0.0, 0.0, -0.4, -0.8)


def named(file: str, values: Any, title: str) -> SuppliedSheet:
    return sheet(file, "D", [charge_air(values) | {"title": title}])


MONDAY, TUESDAY = named("monday.toml", MILD, "Mild"), named("tuesday.toml", DEG, "Strong")


def statement() -> Statement:
    return told(RUN.post("charge-air", TAKEN), MONDAY, TUESDAY)


def test_the_best_one_is_known_by_its_file() -> None:
    running = statement().running
    assert running is not None
    assert (running.best, running.best_file, running.in_car) == (
        "D",
        "tuesday.toml",
        "tuesday.toml",
    )


def test_a_cause_belongs_to_the_sheet_of_its_file() -> None:
    made = statement()
    owner = made.owner(first(made))
    assert owner is not None
    assert owner.file == "tuesday.toml"


def test_a_cause_without_a_file_belongs_to_the_first_of_its_name_that_lists_it() -> None:
    made = statement()
    bare = sheet("sunday.toml", "D")
    made = replace(made, sheets=(bare, *made.sheets))
    owner = made.owner(replace(first(made), file=None))
    assert owner is not None
    assert owner.file == "monday.toml"


def test_the_page_calls_it_by_its_own_sheet_s_title_and_draws_its_points() -> None:
    made = statement()
    assert cause_name(first(made), made) == "Strong"
    air = proofs(first(made), made.logs[0], made.sheets)[0]
    assert "−6.0°" in " ".join(line.says for line in air.lines)


def test_a_draft_has_the_points_of_the_map_that_the_car_runs() -> None:
    """The other D has its map on other points."""
    table = MONDAY.calibration.spark.map
    rpm = table.axes[1].model_copy(update={"at": (900.0, 2500.0, 7000.0)})
    thin = tuple((row[0], row[1], row[-1]) for row in MAP)
    other = table.model_copy(update={"axes": (table.axes[0], rpm), "values": thin})
    made = told(RUN.post("charge-air", TAKEN), with_spark(MONDAY, map=other), TUESDAY)
    account = made.logs[0]
    assert account.ledger is not None
    found = drafted_map(made, [LogInputs(account.log, account.roles, account.ledger.times)])
    assert found is not None
    assert found.surface.axes[1].at == TUESDAY.calibration.spark.map.axes[1].at
