"""Two sheets that bear the same revision and differ: the name does not tell them apart."""

import numpy as np
import pytest

from tests.explain.parts import AIR, AT, DEG, pulling, switched, with_lever, with_spark
from tests.explain.told import first, kinds, told
from tests.runs import MAP, along, charge_air, climb, sheet
from tuneledger.statement import facts, words
from tuneledger.statement.model import SuppliedSheet

RUN = climb()
TAKEN = along(RUN, AIR, AT, DEG)
PLAIN = sheet("monday.toml", "D")
EASED = sheet("monday.toml", "D", [charge_air((0.0, 0.0, -1.0, -2.0))])
WET = sheet("monday.toml", "D", [switched("wet-road", -4.0)])
OFTEN = (RUN.times > 5.0) & (RUN.times % 12.0 < 2.0)
SECOND = sheet("tuesday.toml", "D", [charge_air(DEG)])


@pytest.mark.parametrize("supplied", [PLAIN, EASED], ids=["lacks it", "has it otherwise"])
def test_what_only_the_second_of_two_revisions_d_has_is_of_the_other_revision(
    supplied: SuppliedSheet,
) -> None:
    statement = told(RUN.post("charge-air", TAKEN), supplied, SECOND)
    assert kinds(statement) == ["other revision"]
    assert first(statement).correction == "charge-air"
    assert statement.running is not None
    assert not statement.running.matches_supplied


def test_what_the_first_of_two_revisions_d_has_is_its_own_correction() -> None:
    statement = told(RUN.post("charge-air", TAKEN), SECOND, EASED)
    assert kinds(statement) == ["correction"]
    assert statement.running is not None
    assert statement.running.matches_supplied


def test_the_ranking_tells_two_revisions_d_apart_by_their_files() -> None:
    running = told(RUN.post("charge-air", TAKEN), EASED, SECOND).running
    assert running is not None
    assert [rank.file for rank in running.ranking] == ["tuesday.toml", "monday.toml"]


def test_a_mixture_of_two_revisions_d_is_neither() -> None:
    run = with_lever(RUN).post("charge-air", TAKEN).post("wet-road", pulling(RUN, -4.0))
    statement = told(run, WET, SECOND)
    found = {cause.correction: cause.kind for cause in statement.causes}
    assert found == {"wet-road": "correction", "charge-air": "other revision"}
    assert statement.running is not None
    assert statement.running.best is None


def test_lists_tell_two_revisions_d_apart_by_their_files() -> None:
    statement = told(RUN.post("charge-air", TAKEN), EASED, SECOND)
    assert facts.running(statement).startswith("like revision D (tuesday.toml), not the supplied")
    assert words.named(first(statement), statement) == "charge-air, revision D (tuesday.toml)"


def test_what_stayed_silent_of_the_first_revision_d_is_told_by_its_file() -> None:
    statement = told(RUN, SECOND, PLAIN)
    assert "D (monday.toml), not D (tuesday.toml)" in statement.headline
    assert "as revision D (tuesday.toml) has it" in first(statement).says


def test_another_map_of_a_sheet_of_the_same_name_is_told_by_its_file() -> None:
    grid = PLAIN.calibration.spark.map
    lower = tuple(tuple(x - 3.0 for x in row) for row in MAP)
    other = with_spark(SECOND, map=grid.model_copy(update={"values": lower}), correction=())
    statement = told(RUN, other, PLAIN)
    (cause,) = [cause for cause in statement.causes if cause.kind == "other map"]
    assert "D (tuesday.toml)'s map" in cause.says
    assert "D (monday.toml)'s map fits" in cause.says
    assert words.named(cause, statement).startswith("another map")


def test_a_correction_with_other_numbers_than_the_sheet_is_told_by_its_file() -> None:
    run = with_lever(RUN, OFTEN).post("wet-road", np.where(OFTEN, -6.5, 0.0))
    statement = told(run, WET, sheet("tuesday.toml", "D"))
    assert "revision D (monday.toml) has" in first(statement).says


def test_sentences_tell_two_revisions_d_apart_by_their_files() -> None:
    statement = told(RUN.post("charge-air", TAKEN), EASED, SECOND)
    assert statement.running is not None
    assert statement.running.best == "D"
    assert "D (tuesday.toml), not D (monday.toml)" in statement.running.says
    assert "D (tuesday.toml), not D (monday.toml)" in statement.headline
    assert "D (tuesday.toml) has it; D (monday.toml)" in first(statement).says


@pytest.mark.parametrize(("shift", "stops"), [(-3.0, True), (3.0, False)])
def test_a_car_whose_map_asks_for_more_than_the_sheets_is_not_loaded_before_that_is_clear(
    shift: float, stops: bool
) -> None:
    grid = PLAIN.calibration.spark.map
    moved = tuple(tuple(x + shift for x in row) for row in MAP)
    sheet = with_spark(PLAIN, map=grid.model_copy(update={"values": moved}), correction=())
    (cause,) = [cause for cause in told(RUN, sheet).causes if cause.kind == "other map"]
    assert ("above that map under load" in cause.says) == stops
    assert (cause.next_step or "").startswith("No load until") == stops
