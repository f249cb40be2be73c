"""How a made-up logger writes: dialect, units, steps, slow channels, what is lost on the way."""

import numpy as np
import pytest

from tests.car.bench import sheet
from tuneledger.car.distractors import DISTRACTORS, add
from tuneledger.car.dress import LABELS, Column, Dress
from tuneledger.car.drive import Plan, Run, drive
from tuneledger.car.driver import Leg
from tuneledger.car.ecu import Ecu
from tuneledger.car.logger import Damage, Lie, Logged, write_log
from tuneledger.car.sheets import calibration
from tuneledger.car.vehicle import KESTREL, Day
from tuneledger.car.vocabulary import LANGUAGES, VOCABULARIES, names, words
from tuneledger.signals import SIGNALS
from tuneledger.units import parse_unit

TIME = Column("time", "Zeit", "s", "s", 0.001, 3)
AIR = Column("intake air temperature", "Luft", "degC", "°C", 0.5, 1)
WET = Column("wet", "Regen", "", "", 1.0, 0, switch=True)
SPARK = Column("delivered advance", "Zündung", "deg", "°KW", 0.25, 2)


@pytest.fixture(scope="module")
def run() -> Run:
    plan = Plan(KESTREL, Day(), (Leg("idle", 2), Leg("pedal", 3, 60)), switches={"wet": [(1, 2)]})
    return drive(plan, Ecu(calibration(sheet()), fresh=True))


def logged(run: Run, *columns: Column, damage: Damage | None = None, **dress) -> Logged:
    return write_log(run, [TIME, *columns], Dress("german", 20, **dress), 1, damage)


def lines(log: Logged) -> list[str]:
    return log.data.decode(log.dress.encoding).splitlines()


def test_units_stand_in_the_name_or_in_a_row_of_their_own(run):
    assert lines(logged(run, AIR, units_in="["))[0] == "Zeit [s],Luft [°C]"
    assert lines(logged(run, AIR, units_in="row"))[:2] == ["Zeit,Luft", "s,°C"]
    assert lines(logged(run, AIR, units_in="none"))[0] == "Zeit,Luft"


def test_decimal_comma_semicolon_latin_1_and_preamble(run):
    log = logged(run, AIR, SPARK, delimiter=";", decimal=",", encoding="latin-1",
                 preamble=("Notiz", ""), newline="\r\n")  # fmt: skip
    text = lines(log)
    assert text[:2] == ["Notiz", ""]
    assert text[4] == "0,000;22,0;20,00"
    assert log.format["preamble_lines"] == 2
    assert b"Z\xfcndung" in log.data


@pytest.mark.parametrize(
    ("time_as", "second"), [("s", "90.050"), ("ms", "90050"), ("clock", "00:01:30.050")]
)
def test_time_is_written_in_seconds_milliseconds_or_as_a_clock(run, time_as, second):
    text = lines(logged(run, AIR, time_as=time_as, time_from=90.0, units_in="none"))
    assert text[2].split(",")[0] == second


def test_numbers_are_in_the_logger_s_unit_and_step(run):
    fahrenheit = Column("intake air temperature", "Luft", "degF", "°F", 0.5, 1)
    text = lines(logged(run, fahrenheit, units_in="none"))
    assert float(text[1].split(",")[1]) == pytest.approx(22.0 * 1.8 + 32.0)


def test_switches_are_in_the_logger_s_words(run):
    cells = [row.split(",")[1] for row in lines(logged(run, WET, on_off=("yes", "no")))[2:]]
    assert cells[10] == "no"
    assert cells[25] == "yes"


def test_a_slow_channel_is_held_or_empty_in_between(run):
    every = {"every": 4, "step": 0.1}
    for between, cell in (("hold", None), ("blank", "-")):
        column = Column("engine speed", "n", "rpm", "", step=1.0, decimals=0, every=4,
                        between=between)  # fmt: skip
        rows = [
            r.split(",")[1] for r in lines(logged(run, column, units_in="none", missing="-"))[1:9]
        ]
        assert every["every"] == 4
        assert rows[1:4] == [cell or rows[0]] * 3


def test_an_export_that_draws_lines_gives_a_switch_values_in_between(run):
    column = Column("wet", "Regen", "", "", 0.01, 2, every=7, between="line", switch=True)
    values = {float(row.split(",")[1]) for row in lines(logged(run, column))[2:]}
    assert any(0.05 < v < 0.95 for v in values)


def test_delivered_is_late_by_a_fraction_of_a_sample(run):
    run.delivered[:] = np.linspace(0.0, 50.0, run.times.size)
    fine = Column("delivered advance", "Z", "deg", "", 0.001, 3)
    now, late = (
        [float(r.split(",")[1]) for r in lines(logged(run, fine, lag=lag, units_in="none"))[1:]]
        for lag in (0.0, 0.5)
    )
    per_row = 50.0 / (run.times.size - 1) * 10  # 20 Hz: ten steps of 5 ms
    assert now[20] - late[20] == pytest.approx(per_row / 2, abs=0.002)


def test_gaps_and_lost_rows_and_cells(run):
    whole = logged(run, AIR)
    log = logged(run, AIR, damage=Damage(gaps=((1.0, 2.0),), rows=0.1, cells=0.2), missing="n/a")
    assert log.rows.size < whole.rows.size - 20
    assert np.diff(log.times).max() >= 1.0
    assert sum(row.endswith("n/a") for row in lines(log)) > 5


def test_a_sign_can_be_turned(run):
    run.delivered[:] = 12.0
    log = logged(run, SPARK, damage=Damage(turned=("delivered advance",)), units_in="none")
    assert lines(log)[1].split(",")[1] == "-12.00"


def test_every_unit_that_a_logger_writes_is_one_that_people_know():
    for unit, labels in LABELS.items():
        for label in labels:
            found = parse_unit(label)
            assert found is not None, label
            if unit not in ("crank deg", "lambda", "mbar"):
                assert found.symbol == unit


def test_every_quantity_has_a_name_in_every_language():
    known = words()
    assert {*SIGNALS, *DISTRACTORS} <= set(known)
    assert all(len(row) == len(LANGUAGES) and all(row) for row in known.values())


@pytest.mark.parametrize("vocabulary", VOCABULARIES)
def test_channels_of_one_log_have_names_of_their_own(vocabulary):
    called = names(vocabulary, list(words()), np.random.default_rng(4))
    assert len({n.casefold() for n in called.values()}) == len(called)
    assert all(n.strip() == n and n for n in called.values())


def test_distractors_are_finite_and_most_rise_when_the_car_accelerates(run):
    add(run, list(DISTRACTORS), 3)
    rising = 0
    for key in DISTRACTORS:
        column = run.columns[key]
        assert np.all(np.isfinite(column)), key
        assert column.shape == run.times.shape
        rising += column[-200:].mean() > column[:200].mean() + 1e-9
    assert rising > len(DISTRACTORS) / 2


def test_a_channel_that_lies_is_written_so_and_nothing_else_is():
    times = np.arange(0.0, 10.0, 0.1)
    true = np.round(30.0 * np.sin(times), 1)
    assert set(Lie("intake air temperature", "dead", 11.0).told(true, times)) == {11.0}
    stopped = Lie("intake air temperature", "stops", 4.0).told(true, times)
    assert np.array_equal(stopped[times < 4.0], true[times < 4.0])
    assert np.ptp(stopped[times >= 4.0]) == 0.0
    assert Lie("manifold absolute pressure", "ends", 12.0).told(true, times).max() == 12.0
    round_ = Lie("delivered advance", "round", 64.0).told(true, times)
    assert round_.min() >= 0.0
    assert np.allclose(np.where(round_ > 32.0, round_ - 64.0, round_), true)
