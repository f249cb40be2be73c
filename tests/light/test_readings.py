"""Tables of readings as people write them."""

from pathlib import Path

import numpy as np
import pytest

from tuneledger.errors import LogError
from tuneledger.light.readings import open_readings

ROWS = ((900, 10.0, 8.5), (1500, 10.0, 8.0), (2600, 10.0, 7.5), (4000, 10.0, 6.5))


def write(path: Path, head: str, *, cut: str = ",", mark: str = ".", order: str = "rco") -> Path:
    """A file with the rows in this order of columns, r rpm, c commanded, o observed."""
    lines = [head]
    for rpm, commanded, observed in ROWS:
        cells = {"r": str(rpm), "c": f"{commanded}", "o": f"{observed}"}
        lines.append(cut.join(cells[column].replace(".", mark) for column in order))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


HEADS = (
    ("rpm,commanded,observed", ",", ".", "rco"),
    ("RPM,ECU advance (deg),Light (deg)", ",", ".", "rco"),
    ("Seen at crank,Set advance,Speed", ",", ".", "ocr"),
    ("Drehzahl [1/min];Soll [°KW];Abgeblitzt [°KW]", ";", ",", "rco"),
    ("Zündwinkel gemessen;Zündwinkel Vorgabe;U/min", ";", ",", "ocr"),
    ("régime (tr/min)\tavance consigne\tavance lue au stroboscope", "\t", ",", "rco"),
    ("giri;anticipo misurato;anticipo centralina", ";", ",", "roc"),
    ("rpm;avance mandado;avance leído", ";", ",", "rco"),
    ("Obroty [obr/min];Zadany kąt;Zmierzony kąt", ";", ",", "rco"),
    ("Varvtal;Börvärde;Uppmätt", ";", ",", "rco"),
    ("toerental;ingesteld;gemeten", ";", ",", "rco"),
    ("otáčky;zadaný;změřený", ";", ",", "rco"),
    ("обороты;заданный УОЗ;измеренный УОЗ", ";", ",", "rco"),
    ("回転数,指令,実測", ",", ".", "rco"),
    ("转速,设定,实测", ",", ".", "rco"),
)


@pytest.mark.parametrize(("head", "cut", "mark", "order"), HEADS, ids=[h[0] for h in HEADS])
def test_columns_are_found_by_their_words(
    tmp_path: Path, head: str, cut: str, mark: str, order: str
) -> None:
    found = open_readings(write(tmp_path / "r.csv", head, cut=cut, mark=mark, order=order))
    assert found.rpm.tolist() == [row[0] for row in ROWS]
    assert found.commanded.tolist() == [row[1] for row in ROWS]
    assert found.observed.tolist() == [row[2] for row in ROWS]
    assert found.rows.tolist() == [1, 2, 3, 4]


def test_a_preamble_a_unit_row_and_further_columns_do_no_harm(tmp_path: Path) -> None:
    file = tmp_path / "r.csv"
    file.write_text(
        "Kestrel, timing light\n14 May, warm\n\nNo,rpm,commanded,observed,coolant\n"
        ",1/min,deg,deg,degC\n1,900,10,8.5,88\n2,2600,10,7.5,89\n3,4000,10,6.5,90\n"
    )
    found = open_readings(file)
    assert found.observed.tolist() == [8.5, 7.5, 6.5]
    assert found.lines.tolist() == [6, 7, 8]


def test_units_are_converted_and_an_angle_after_top_dead_centre_is_turned(tmp_path: Path) -> None:
    file = tmp_path / "r.csv"
    file.write_text("speed (rad/s),commanded,observed (°ATDC)\n100,5,-5\n300,5,-4\n400,5,1\n")
    found = open_readings(file)
    assert found.rpm == pytest.approx(np.array([100, 300, 400]) * 30 / np.pi)
    assert found.observed.tolist() == [5, 4, -1]
    assert any("after top dead centre" in note for note in found.notes)


def test_what_words_do_not_tell_is_asked_and_not_guessed(tmp_path: Path) -> None:
    file = write(tmp_path / "r.csv", "rpm,A,B")
    with pytest.raises(LogError, match="the words do not tell which of 'A' and 'B'") as problem:
        open_readings(file)
    assert "--commanded NAME and --observed NAME" in str(problem.value)
    found = open_readings(file, columns={"commanded": "A"})
    assert found.columns == {"commanded": "A", "rpm": "rpm", "observed": "B"}


def test_the_user_overrules_the_words(tmp_path: Path) -> None:
    file = write(tmp_path / "r.csv", "rpm,observed,commanded")
    found = open_readings(file, columns={"commanded": "observed", "observed": "commanded"})
    assert found.commanded.tolist() == [10.0] * 4


def test_a_column_that_is_not_there_is_told_with_those_that_are(tmp_path: Path) -> None:
    file = write(tmp_path / "r.csv", "rpm,commanded,observed")
    with pytest.raises(LogError, match=r"no column 'Rev' for rpm.*'rpm', 'commanded'"):
        open_readings(file, columns={"rpm": "Rev"})


def test_a_row_with_a_hole_is_left_out_and_told(tmp_path: Path) -> None:
    file = tmp_path / "r.csv"
    file.write_text("rpm,commanded,observed\n900,10,8\n1500,10,\n2600,10,7\n4000,10,6")
    found = open_readings(file)
    assert found.rows.tolist() == [1, 3, 4]
    assert "1 row without all three numbers left out (line 3)" in found.notes


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("rpm,commanded,observed\n", "a header row but no samples"),
        ("900,10,8\n1500,10,8\n2600,10,7\n", "no header row"),
        ("Dear Kestrel,\nthe light says ten.\nYours\n", "no table of numbers"),
        ("rpm,commanded\n900,10\n1500,10\n2600,10\n", "no column can be told to hold observed"),
        ("rpm,commanded,observed\n900,10,108\n1500,10,9\n2600,10,9\n", "cannot be the observed"),
        ("rpm,commanded,observed\n9,10,8\n15,10,9\n26,10,9\n", "cannot be the rpm value"),
        ("", "the file is empty"),
    ],
)
def test_what_is_no_table_of_readings_is_refused_in_words(
    tmp_path: Path, text: str, found: str
) -> None:
    file = tmp_path / "r.csv"
    file.write_text(text)
    with pytest.raises(LogError, match=found):
        open_readings(file)


def test_a_log_in_place_of_readings_is_told_as_one(tmp_path: Path) -> None:
    file = tmp_path / "run.csv"
    rows = "".join(f"{900 + n},10,9.5\n" for n in range(1001))
    file.write_text(f"rpm,commanded,observed\n{rows}")
    with pytest.raises(LogError, match="1001 rows: this is a log, and no table of readings"):
        open_readings(file)
    file.write_text(f"rpm,commanded,observed\n{rows.rstrip().rpartition(chr(10))[0]}\n")
    assert open_readings(file).rpm.size == 1000
