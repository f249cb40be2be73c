"""No episode without a cause, however small, brief or odd what made it; and never a traceback."""

import numpy as np
import pytest

from tests.explain.parts import (
    AIR,
    AT,
    during,
    every_episode_has_a_cause,
    pulling,
    switched,
    with_lever,
    with_spark,
)
from tests.explain.told import told
from tests.runs import along, charge_air, climb, sheet
from tuneledger.explain.says import REGIME_PLACES
from tuneledger.ledger.regimes import REGIMES
from tuneledger.statement.model import SuppliedSheet

RUN = climb()
ONE_ROW = np.arange(RUN.times.size) == 600


@pytest.mark.parametrize("degrees", [-4.0, 4.0])
def test_a_correction_that_acted_for_one_row(degrees: float) -> None:
    run = with_lever(RUN, ONE_ROW).post("blip", np.where(ONE_ROW, degrees, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [switched("blip", degrees)]))
    assert statement.episodes
    assert every_episode_has_a_cause(statement)


@pytest.mark.parametrize("degrees", [-4.0, -1.5, 4.0])
@pytest.mark.parametrize("row", [600, 850, 1000])
def test_a_correction_that_acted_for_one_row_is_its_cause(degrees: float, row: int) -> None:
    rows = np.arange(RUN.times.size) == row
    run = with_lever(RUN, rows).post("blip", np.where(rows, degrees, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [switched("blip", degrees)]))
    assert [cause.correction for cause in statement.causes] == ["blip"]
    assert statement.causes[0].certainty < 0.8  # one row proves little


@pytest.mark.parametrize("degrees", [-4.0, 4.0])
def test_one_row_that_nothing_accounts_for(degrees: float) -> None:
    statement = told(RUN.post("x", np.where(ONE_ROW, degrees, 0.0)), sheet("rev-d.toml", "D"))
    assert len(statement.episodes) == 1
    assert every_episode_has_a_cause(statement)
    assert statement.verdict == "unexplained"


@pytest.mark.parametrize("each", [-0.25, 0.25])
def test_two_corrections_that_only_together_go_beyond_tolerance(each: float) -> None:
    run = with_lever(RUN).post("a", pulling(RUN, each)).post("b", pulling(RUN, each))
    pair = [switched("a", each), switched("b", each)]
    statement = told(run, sheet("rev-d.toml", "D", pair))
    assert len(statement.episodes) == 1
    assert every_episode_has_a_cause(statement)
    assert statement.exit_status == 1
    assert statement.headline.startswith("Stop") == (each > 0)
    assert statement.raised_under_load == (each > 0)


@pytest.mark.parametrize("each", [(-0.25, -0.25), (-0.2, -0.15), (-0.2, -0.1, -0.2), (0.28, 0.1)])
def test_small_corrections_that_make_an_episode_together_are_its_causes(
    each: tuple[float, ...],
) -> None:
    run = with_lever(RUN)
    for number, degrees in enumerate(each):
        run = run.post(f"trim-{number}", pulling(run, degrees))
    trims = [switched(f"trim-{number}", degrees) for number, degrees in enumerate(each)]
    statement = told(run, sheet("rev-d.toml", "D", trims))
    told_of_them = {cause.correction: cause.degrees for cause in statement.causes}
    assert told_of_them == {f"trim-{i}": pytest.approx(d) for i, d in enumerate(each)}


@pytest.mark.parametrize("pattern", [(-6.0, 6.0), (-6.0,), (6.0, 6.0, -3.0), (-6.0, 0.0, 0.0)])
@pytest.mark.parametrize("seconds", [0.3, 1.0, 10.0])
def test_what_nothing_accounts_for_lasts_as_long_as_it_lasted(
    seconds: float, pattern: tuple[float, ...]
) -> None:
    rows = during(RUN, 24.0, 24.0 + seconds)
    jumps = np.resize(pattern, RUN.times.size)
    statement = told(RUN.post("x", np.where(rows, jumps, 0.0)))
    lasted = sum(cause.seconds for cause in statement.causes)
    assert lasted == pytest.approx(rows.sum() / 20.0, abs=0.2)


def test_what_jumps_to_and_fro_is_told_by_its_range() -> None:
    jumps = np.where(during(RUN, 24.0, 28.0), np.resize((-6.0, 6.0), RUN.times.size), 0.0)
    unknown = next(c for c in told(RUN.post("x", jumps)).causes if c.kind == "unknown")
    assert "−6.0° to +6.0°" in unknown.says


def test_two_small_raises_beside_a_silent_correction() -> None:
    closed = [{"signal": "throttle position", "unit": "%", "below": 1.0}]
    silent = {"id": "c", "amount": -2.0, "when": closed}
    run = with_lever(RUN).post("a", pulling(RUN, 0.25)).post("b", pulling(RUN, 0.25))
    pair = [switched("a", 0.25), switched("b", 0.25)]
    statement = told(run, sheet("rev-d.toml", "D", [*pair, silent]))
    assert every_episode_has_a_cause(statement)
    assert statement.headline.startswith("Stop")


def blind(file: str, revision: str) -> SuppliedSheet:
    """A sheet whose map reads what no log of this car carries."""
    made = sheet(file, revision)
    axes = list(made.calibration.spark.map.axes)
    axes[0] = axes[0].model_copy(update={"signal": None, "channel": "Air mass"})
    grid = made.calibration.spark.map.model_copy(update={"axes": tuple(axes)})
    return with_spark(made, map=grid)


@pytest.mark.parametrize("logged", [True, False])
def test_a_second_sheet_whose_map_cannot_be_computed(logged: bool) -> None:
    run = with_lever(RUN).post("x", pulling(RUN, -4.0))
    mine = sheet("rev-d.toml", "D")
    statement = told(run, mine, blind("rev-e.toml", "E"), logged=logged)
    assert statement.exit_status == 1
    assert every_episode_has_a_cause(statement)


def test_every_regime_has_its_place_in_a_sentence() -> None:
    assert set(REGIME_PLACES) == set(REGIMES)


def test_an_episode_is_not_explained_while_degrees_in_it_are_only_suspected() -> None:
    # Two lamps that light together: which of them the ECU follows, this log cannot tell.
    on = during(RUN, 26.0, 33.0) | during(RUN, 42.0, 47.0)
    run = RUN.carry("Lamp", on.astype(float)).carry("Fan", on.astype(float))
    air = along(RUN, AIR, AT, (0.0, -5.0, -6.0, -9.0))
    run = run.post("charge-air", air).post("x", np.where(on, -3.0, 0.0))
    statement = told(run, sheet("rev-d.toml", "D", [charge_air((0.0, -5.0, -6.0, -9.0))]))
    sure = {cause.correction: cause.certainty >= 0.8 for cause in statement.causes}
    assert sure == {"charge-air": True, None: False}
    assert statement.verdict == "unexplained"
