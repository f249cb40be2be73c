"""Whatever dress a logger gives it, a run reads back as the run that it was."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tests.logs.writing import SWITCHES, TOKENS, Column, Dress, Run, plain, steady_run, write
from tuneledger.logs import open_log
from tuneledger.logs.model import Log

NAMES = (
    ("Rev", "rpm"), ("Drehzahl", "1/min"), ("Régime moteur", "tr/min"), ("Throttle", "%"),
    ("Öldruck", "kPa"), ("Zündwinkel", "°KW"), ("Lambda", ""), ("Presión", "bar"), ("EGT 1", "°C"),
    ("Gear", ""), ("Wheel; left", "km/h"), ("a,b", "V"), ("x", ""), ("Temp (bank 1)", "°C"),
    ("ligne", ""), ("Weg", "mm"), ("1st lamp", ""), ("Flow", "mg/stk"),
)  # fmt: skip


@st.composite
def runs(draw: st.DrawFn) -> Run:
    rows = draw(st.integers(5, 40))
    raster = draw(st.sampled_from([0.001, 0.01, 0.02, 0.04, 0.1, 0.5]))
    start = draw(st.sampled_from([0.0, 3.5, 61.0, 1620.41]))
    names = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=6))
    seed = draw(st.integers(0, 2**32 - 1))
    rng = np.random.default_rng(seed)
    columns = []
    for name, unit in names:
        decimals = int(rng.integers(0, 4))
        values = np.round(rng.normal(50, 200, rows), decimals)
        switch = SWITCHES[int(rng.integers(len(SWITCHES)))] if rng.random() < 0.2 else None
        if switch:
            values = rng.integers(0, 2, rows).astype(float)
        values[rng.random(rows) < rng.choice([0.0, 0.0, 0.2])] = np.nan
        if np.isnan(values).all():
            values[0] = 1.0
        columns.append(Column(name, "" if switch else unit, values + 0.0, decimals, switch))
    columns.append(Column("Rising", "m", np.arange(rows) * 3.0 + 7, 1))
    return Run(start + np.arange(rows) * raster, tuple(columns))


@st.composite
def dresses(draw: st.DrawFn) -> Dress:
    delimiter = draw(st.sampled_from([",", ";", "\t", "|"]))
    quoted = draw(st.booleans())
    decimal = draw(st.sampled_from([".", ","])) if delimiter != "," or quoted else "."
    preamble = draw(
        st.lists(
            st.sampled_from(
                ["Kestrel, second run", "Session 2", "driver;wet", "# kept by hand", "12.5 C"]
            ),
            max_size=4,
        )
    )
    return Dress(
        delimiter=delimiter,
        decimal=decimal,
        encoding=draw(st.sampled_from(["utf-8", "utf-8-sig", "cp1252", "utf-16"])),
        preamble=tuple(preamble),
        units=draw(st.sampled_from(["none", "row", "round", "square", "slash"])),
        time_as=draw(st.sampled_from(["s", "ms", "us", "clock", "minutes", "iso", "epoch"])),
        time_name=draw(st.sampled_from(["Time", "Zeit", "t", "Temps", "Stamp", "Elapsed time"])),
        time_at=draw(st.integers(0, 3)),
        ends=draw(st.sampled_from(["\n", "\r\n", "\r"])),
        trailing=draw(st.booleans()),
        quoted=quoted,
        padded=draw(st.booleans()),
        missing=draw(st.sampled_from(TOKENS)),
        blank_lines=draw(st.integers(0, 1)),
    )


@settings(
    max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(run=runs(), dress=dresses())
def test_a_run_in_any_dress_reads_back_as_the_run(tmp_path: Path, run: Run, dress: Dress) -> None:
    # A thousand rows a second without a unit cannot be told from one row a second.
    assume(
        dress.units != "none"
        or dress.time_as not in ("ms", "us")
        or run.times[1] - run.times[0] > 0.005
    )
    log = open_log(write(tmp_path / "run.txt", run, dress))

    assert log.time.header.startswith(dress.time_name)
    np.testing.assert_allclose(log.groups[0].times, run.times - run.times[0], atol=1e-6)
    others = [channel for channel in log.channels if channel != log.time]
    assert [c.name for c in others] == numbered([c.name for c in run.columns])
    for channel, column in zip(others, run.columns, strict=True):
        np.testing.assert_allclose(log.values(channel), column.values, atol=1e-9)
        if dress.units != "none":
            assert channel.unit == column.unit


def numbered(names: list[str]) -> list[str]:
    return [
        name if names[:i].count(name) == 0 else f"{name} #{names[:i].count(name) + 1}"
        for i, name in enumerate(names)
    ]


def read(path: Path, content: str | bytes) -> Log:
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return open_log(path)


def values(log: Log, name: str) -> list[float]:
    channel = log.find(name)
    assert channel is not None
    return [float(v) for v in log.values(channel)]


def test_a_log_says_how_it_was_read(tmp_path: Path) -> None:
    log = open_log(
        plain(
            tmp_path / "run.csv",
            delimiter=";",
            decimal=",",
            encoding="cp1252",
            preamble=("Kestrel", "wet; second run"),
            units="row",
            ends="\r\n",
            time_name="Zeit",
        )
    )

    assert log.layout["delimiter"] == "semicolon"
    assert log.layout["decimal mark"] == "comma"
    assert log.layout["line ends"] == "CRLF"
    assert log.layout["preamble"] == "2 lines"
    assert log.layout["header"] == "line 3"
    assert log.layout["units"] == "line 4"
    assert log.layout["raster"] == "20 ms"


def test_mixed_line_ends_are_read_as_lines_all_of_them(tmp_path: Path) -> None:
    log = read(tmp_path / "x", "Time,Rev,Adv\n0.0,1,2\r\n0.1,3,4\r0.2,5,6\n0.3,7,8\n")

    assert values(log, "Rev") == [1, 3, 5, 7]


def test_a_lone_carriage_return_far_down_splits_its_line(tmp_path: Path) -> None:
    rows = [f"{i / 100:.2f},{i % 977},{i % 31}.5" for i in range(60000)]
    content = "Time,Rev,Adv\n" + "\n".join(rows[:50000]) + "\r" + "\n".join(rows[50000:]) + "\n"

    log = read(tmp_path / "x", content)

    assert log.samples == 60000
    assert values(log, "Adv")[50000] == 50000 % 31 + 0.5


def test_one_byte_letters_first_met_far_down_are_read(tmp_path: Path) -> None:
    rows = [f"{i / 100:.2f},{i % 977},an" for i in range(60000)]
    rows[55000] = rows[55000].replace(",an", ",gestört")

    log = read(tmp_path / "x", ("Time,Rev,Wet\n" + "\n".join(rows) + "\n").encode("cp1252"))

    assert log.samples == 60000
    assert math.isnan(values(log, "Wet")[55000])
    assert "line 55002: 'gestört'" in "; ".join(log.cell_notes)


def test_quotes_first_met_far_down_keep_their_commas(tmp_path: Path) -> None:
    rows = [f"{i / 100:.2f},{i % 977}," for i in range(60000)]
    rows[55000] += '"lap 3, wet"'

    log = read(tmp_path / "x", "Time,Rev,Mark\n" + "\n".join(rows) + "\n")

    assert log.samples == 60000
    assert values(log, "Rev")[55001] == 55001 % 977


@pytest.mark.parametrize(
    ("header", "name", "unit"),
    [
        ("Throttle (0-1)", "Throttle", "0-1"),
        ("Throttle (%)", "Throttle", "%"),
        ("Throttle [%]", "Throttle", "%"),
        ("Throttle / %", "Throttle", "%"),
        ("Throttle %", "Throttle", "%"),
        ("p/kPa", "p/kPa", ""),  # too short a name to tell it from a ratio
        ("Ladedruck/hPa", "Ladedruck", "hPa"),
        ("Air/Fuel", "Air/Fuel", ""),
        ("Lambda (bank 1)", "Lambda (bank 1)", ""),
        ("EGT (cyl 2) [°C]", "EGT (cyl 2)", "°C"),
        ("Pedal (2)", "Pedal (2)", ""),
        ("Column[3]", "Column[3]", ""),
        ("ENGINE_RPM ()", "ENGINE_RPM", ""),
        ("Gear [-]", "Gear", ""),
        ("  Oil   temp (degC) ", "Oil temp", "degC"),
        ("Charge (mg/stk)", "Charge", "mg/stk"),
        ("Boost [widget]", "Boost", "widget"),
        ("(%)", "(%)", ""),
        ("Zündwinkel [°KW]", "Zündwinkel", "°KW"),
        ("Speed km/h", "Speed km/h", ""),
    ],
)
def test_a_unit_is_taken_out_of_a_name_only_where_it_is_one(
    tmp_path: Path, header: str, name: str, unit: str
) -> None:
    log = read(tmp_path / "x", f"Time,{header},Rev\n0.0,1,900\n0.1,2,950\n0.2,2,980\n")

    assert (log.channels[1].name, log.channels[1].unit) == (name, unit)
    assert log.find(name) == log.find(header) == log.channels[1]


def test_a_name_that_stands_twice_is_numbered_and_told(tmp_path: Path) -> None:
    log = read(tmp_path / "x", "Time,EGT [°C],EGT [°F],egt,Rev\n0,1,2,3,4\n1,1,2,3,5\n2,1,2,3,6\n")

    assert [c.name for c in log.channels] == ["Time", "EGT", "EGT #2", "egt #3", "Rev"]
    assert [c.twin for c in log.channels] == [1, 1, 2, 3, 1]
    assert "names that stand more than once are numbered: 'EGT #2' and 'egt #3'" in log.notes


def test_a_column_of_row_numbers_without_a_name_is_no_obstacle(tmp_path: Path) -> None:
    log = read(tmp_path / "x", ",Time,Rev\n0,0.00,900\n1,0.05,950\n2,0.10,980\n3,0.15,990\n")

    assert log.time.name == "Time"
    assert log.channels[0].name == "Column 1"
    assert "1 column without a name: Column 1" in log.notes


def test_a_header_behind_a_comment_mark_is_the_header(tmp_path: Path) -> None:
    log = read(tmp_path / "x", "# made at noon\n# Time,Rev\n0.00,900\n0.05,950\n0.10,980\n")

    assert [c.name for c in log.channels] == ["Time", "Rev"]


def test_short_names_are_not_taken_for_units(tmp_path: Path) -> None:
    rows = "0.00;9,5;3\n0.02;9,6;3\n0.04;9,7;3\n"
    terse = read(tmp_path / "x", "t;v;g\n" + rows)
    with_units = read(tmp_path / "y", "t;v;g\ns;km/h;1\n" + rows)
    below_text = read(tmp_path / "z", "Kestrel;;\nt;v;g\n" + rows)

    assert [c.name for c in terse.channels] == ["t", "v", "g"]
    assert [c.unit for c in with_units.channels] == ["s", "km/h", "1"]
    assert [c.name for c in below_text.channels] == ["t", "v", "g"]


def test_preamble_lines_padded_to_full_width_stay_preamble(tmp_path: Path) -> None:
    log = read(
        tmp_path / "x",
        "Kestrel;2025;;\nwet;warm;;\nTime;Rev;Adv;Wet\ns;1/min;deg;\n"
        "0,0;900;10,5;off\n0,1;950;10,6;on\n0,2;980;10,7;on\n",
    )

    assert [c.name for c in log.channels] == ["Time", "Rev", "Adv", "Wet"]
    assert [c.unit for c in log.channels] == ["s", "1/min", "deg", ""]


def test_tables_and_settings_in_the_preamble_are_not_the_log(tmp_path: Path) -> None:
    log = read(
        tmp_path / "x",
        "Name,Value\nRate,50\nMass,900\n[data]\nTime,Rev,Adv\ns,1/min,deg\n"
        "0.0,900,10\n0.1,901,11\n0.2,902,12\n0.3,903,12\n",
    )

    assert [(c.name, c.unit) for c in log.channels] == [
        ("Time", "s"), ("Rev", "1/min"), ("Adv", "deg"),
    ]  # fmt: skip
    assert log.samples == 4


def test_a_row_of_descriptions_below_the_names_is_not_the_header(tmp_path: Path) -> None:
    log = read(
        tmp_path / "x",
        "Time,Rev,Adv\ntime of day,crankshaft speed,advance in use\ns,1/min,deg\n"
        "0.0,900,10\n0.1,901,11\n0.2,902,12\n0.3,903,12\n",
    )

    assert [c.name for c in log.channels] == ["Time", "Rev", "Adv"]
    assert [c.unit for c in log.channels] == ["s", "1/min", "deg"]


def test_units_behind_the_numbers_are_read(tmp_path: Path) -> None:
    log = read(tmp_path / "x", "Time,Coolant,Plate\n0.0,85 °C,12%\n0.1,86 °C,13%\n0.2,86 °C,15%\n")

    assert values(log, "Coolant") == [85, 86, 86]
    assert [c.unit for c in log.channels] == ["", "°C", "%"]


def test_a_slower_channel_gives_only_its_own_samples(tmp_path: Path) -> None:
    rows = [f"{i * 0.01:.2f},{900 + i},{80 + i if i % 5 == 2 else ''}" for i in range(50)]
    log = read(tmp_path / "x", "Time,Rev,Coolant\n" + "\n".join(rows) + "\n")
    coolant = log.find("Coolant")
    assert coolant is not None

    own = log.series(coolant)

    assert own.rows.tolist() == list(range(2, 50, 5))
    np.testing.assert_allclose(own.times, np.arange(2, 50, 5) * 0.01)


def test_a_run_of_any_length_opens_alike(tmp_path: Path) -> None:
    for rows in (2, 3, 5, 400, 401, 3000):
        log = open_log(write(tmp_path / "x", steady_run(rows), Dress()))
        assert log.samples == rows
        assert 1 <= log.sample(log.channels[1]).size <= min(rows, 400)
