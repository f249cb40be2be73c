"""What a single name of a header leaves open, the custom of the whole header decides."""

from pathlib import Path

import pytest

from tuneledger.errors import LogError
from tuneledger.logs import open_log

ROWS = [f"{i / 10:.1f};{800 + i};{40 + i % 7};{12 + i % 5};{i % 3}" for i in range(30)]


def channels(folder: Path, *lines: str) -> list[tuple[str, str]]:
    file = folder / "run.csv"
    file.write_text("\n".join([*lines, *ROWS]) + "\n", encoding="utf-8")
    return [(c.name, c.unit) for c in open_log(file).channels]


def test_a_path_with_a_slash_is_no_unit(tmp_path: Path) -> None:
    found = channels(tmp_path, "Time;eng/volts;eng/rpm;eng/map;gear/state")
    assert [name for name, _ in found] == ["Time", "eng/volts", "eng/rpm", "eng/map", "gear/state"]
    assert not any(unit for _, unit in found)


def test_units_behind_a_slash_are_units_even_behind_a_single_letter(tmp_path: Path) -> None:
    found = channels(tmp_path, "Time/s;n/rpm;p/kPa;ign/deg;U/V")
    assert found == [("Time", "s"), ("n", "rpm"), ("p", "kPa"), ("ign", "deg"), ("U", "V")]


def test_where_units_stand_in_round_brackets_an_unknown_one_is_a_unit_too(tmp_path: Path) -> None:
    found = channels(tmp_path, "Time (s);Rev (rpm);Map (kPa);Ign (°QX);Fill (mg/hub)")
    assert found[3:] == [("Ign", "°QX"), ("Fill", "mg/hub")]


def test_a_one_in_brackets_is_the_unit_of_a_share_but_of_two_alike_it_is_a_number(
    tmp_path: Path,
) -> None:
    share = channels(tmp_path, "Time (s);Rev (rpm);Map (kPa);Ign (deg);Throttle (1)")
    assert share[4] == ("Throttle", "1")
    pair = channels(tmp_path, "Time (s);Rev (rpm);Map (kPa);Lambda (1);Lambda (2)")
    assert pair[3:] == [("Lambda (1)", ""), ("Lambda (2)", "")]


def test_words_in_brackets_stay_in_the_name(tmp_path: Path) -> None:
    found = channels(tmp_path, "Time (s);Rev (rpm);Map (kPa);Ign (base);Ign (out)")
    assert found[3:] == [("Ign (base)", ""), ("Ign (out)", "")]


@pytest.mark.parametrize(
    "preamble",
    [
        ["1;2;3", "kept with care", "1;2;3", "kept with care", "1;2;3", ""],
        ["1;2;3"],
        ["1;2;3", "4;5"],
        ["2026;11;25", ""],
        ["17"],
        ["0.0;1"],
        ["1;2;3;4"],
        ["1;2;3;4;5"],
    ],
)
def test_a_preamble_of_numbers_is_no_sample(tmp_path: Path, preamble: list[str]) -> None:
    found = channels(tmp_path, *preamble, "Time;Rev;Map;Ign;Fill", "s;rpm;kPa;deg;")
    assert found[:2] == [("Time", "s"), ("Rev", "rpm")]


def test_numbers_without_any_header_are_refused(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="no header row"):
        channels(tmp_path, "1;2;3")
