"""What is not a readable TOML file of this format is refused with line, column and advice."""

# ruff: noqa: E501 (a fault stands on one line, as a person sees it)

from pathlib import Path

import pytest

from tests.calibrations.sheets import MAP, TOP, faults_of
from tests.shared import SHARED, needs_cases
from tuneledger.bounded import RAISE
from tuneledger.calibrations import looks_like_sheet, open_calibration
from tuneledger.errors import SheetError


def opened(path: Path) -> list[str]:
    with pytest.raises(SheetError) as caught:
        open_calibration(path)
    assert caught.value.exit_status == 2
    assert all(fault.file == str(path) for fault in caught.value.faults)
    return [str(fault).removeprefix(f"{path}: ") for fault in caught.value.faults]


def written(tmp_path: Path, data: bytes) -> list[str]:
    path = tmp_path / "rev-a.toml"
    path.write_bytes(data)
    return opened(path)


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ("title = −4", "column 9: a typeset minus sign. Write the minus of the keyboard (-)."),
        ("title = “Kestrel”", 'column 9: a typeset quotation mark. Write plain quotes (").'),
        ("title = -4,5", "column 11: a decimal comma. Write decimals with a point: 1.5."),
        ("title = ", "column 9: no value that can be read"),
        ("title", "column 6: a key without = and a value"),
        ("title = abc", "column 9: no value that can be read, near abc"),
        ('title = "abc', "column 13: text without its closing quote"),
        ("title = [1, 2", "column 14: a list that is not closed with ]"),
        ("engine = { cylinders = 4,", "column 26: a line break inside braces. Write what is in braces on one line."),
        ("revision = 'B'", "column 1: revision stands a second time. Keep one of the two."),
        ("[engine", "column 8: a heading that is not closed with ]"),
        ("title = 1 saved = 2", "column 11: more text after a value that is complete, near saved = 2"),
        ("saved = 2026-02-31", "column 9: a date that does not exist, near 2026-02-31"),
    ],
)  # fmt: skip
def test_what_is_not_toml_has_line_and_column(line: str, fault: str) -> None:
    assert faults_of(f"{TOP}{line}\n") == [f"line 3, {fault}"]


def test_a_table_that_stands_twice_is_named() -> None:
    assert faults_of(f"{TOP}{MAP}\n{MAP}") == [
        "line 6, column 1: [spark.map] stands a second time. Keep one of the two."
    ]
    twice = f"{TOP}{MAP}[[spark.correction]]\nid = 'a'\nvalues = [\n1,\n]\nvalues = [\n2,\n]\n"
    assert faults_of(twice) == [
        "line 10, column 1: values stands a second time. Keep one of the two."
    ]


DEEP = "nested too deeply to be read. Write it flatter; no option lets it in."


def test_nesting_without_end_is_refused_and_does_not_crash() -> None:
    assert faults_of("a = " + "[" * 9000) == [DEEP]
    assert faults_of(f"{TOP}{'a.' * 5000}b = 1") == [DEEP]
    condition = '{channel = "a", is = "on"}'
    for _ in range(70):
        condition = f"{{any = [{condition}]}}"
    text = f'{TOP}{MAP}[[spark.correction]]\nid = "a"\namount = 1\nwhen = [{condition}]'
    assert faults_of(text) == [f"nested too deeply; expected at most 64 levels. {RAISE}"]


def test_a_number_of_thousands_of_digits_is_refused() -> None:
    assert faults_of(f"{TOP}title = {'9' * 5000}") == [
        "a number too long to be read. Write it with fewer digits; no option lets it in."
    ]


@pytest.mark.parametrize(
    ("said", "fault"),
    [
        (
            '"tuneledger-calibration/2"',
            '"tuneledger-calibration/2" is newer than this program. This program reads '
            '"tuneledger-calibration/1": get a newer one, or the sheet in that format.',
        ),
        (
            '"tuneledger-roles/1"',
            '"tuneledger-roles/1" is not a calibration sheet; expected "tuneledger-calibration/1"',
        ),
        (
            '"json"',
            '"json" is not a calibration sheet; expected "tuneledger-calibration/1". '
            'A sheet begins with format = "tuneledger-calibration/1".',
        ),
        (
            '"tuneledger-calibration/one"',
            '"tuneledger-calibration/one"; expected "tuneledger-calibration/1"',
        ),
    ],
)
def test_another_format_is_told_alone_however_much_else_is_strange(said: str, fault: str) -> None:
    assert faults_of(f"format = {said}\nwhatever = 1\n") == [f"format: {fault}"]


def test_no_format_at_all_is_told_with_the_rest() -> None:
    assert faults_of("revision = 3") == [
        "revision: 3; expected the name of this revision, text in quotes",
        'format: missing; expected "tuneledger-calibration/1"',
        "spark: missing; expected [spark.map] with the map, and the corrections",
    ]


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    assert opened(tmp_path / "nowhere.toml") == ["there is no such file. Check the name."]
    assert opened(tmp_path) == ["this is a folder. Name a file in it."]
    assert opened(tmp_path / "a\0b") == [
        "it cannot be read (embedded null byte). Name another file."
    ]
    assert written(tmp_path, b"") == ["the file is empty; expected a calibration sheet"]
    assert written(tmp_path, b" \n\n") == ["the file is empty; expected a calibration sheet"]
    latin = f'{TOP}title = "Bussard f'.encode() + b'\xfcr den Berg"\n'
    assert written(tmp_path, latin) == [
        "line 3, column 19: the byte 0xfc is not UTF-8 text. Save it as UTF-8."
    ]
    assert written(tmp_path, b"Time,Rev\n0.0,900\n") == [
        "this is not a calibration sheet; "
        'expected TOML that begins with format = "tuneledger-calibration/1". '
        "If it is a log: `tuneledger look FILE` shows what is in it."
    ]
    assert "this is not a calibration sheet" in written(tmp_path, b"R\xe9g. motor;\xb0C\n1;2\n")[0]
    assert written(tmp_path, (TOP + MAP).encode("utf-16")) == [
        "UTF-16 text; expected UTF-8. Save it as UTF-8."
    ]


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_byte_order_mark_and_either_line_end_are_read(
    tmp_path: Path, mark: bytes, end: str
) -> None:
    path = tmp_path / "rev-a.toml"
    path.write_bytes(mark + (TOP + MAP).replace("\n", end).encode())
    assert open_calibration(path).revision == "A"


def contract_examples() -> list[str]:
    text = (SHARED / "CONTRACT.md").read_text(encoding="utf-8")
    blocks = [part.split("```")[0] for part in text.split("```toml\n")[1:]]
    return [block for block in blocks if "tuneledger-calibration/1" in block]


@needs_cases
def test_the_contracts_own_example_opens(tmp_path: Path) -> None:
    (example,) = contract_examples()
    path = tmp_path / "example.toml"
    path.write_text(example, encoding="utf-8")
    calibration = open_calibration(path)
    assert [c.id for c in calibration.spark.correction] == [
        "charge-air",
        "wet-road",
        "idle-governor",
        "ethanol",
    ]
    assert calibration.spark.map.grid.shape == (5, 5)


@needs_cases
def test_every_shared_sheet_opens_and_is_told_from_every_log() -> None:
    sheets = sorted((SHARED / "cases").glob("*/*.toml"))
    assert sheets
    for path in sheets:
        assert looks_like_sheet(path.read_bytes()[:4096])
        assert open_calibration(path).spark.correction
    for path in (SHARED / "cases").glob("*/*.csv"):
        assert not looks_like_sheet(path.read_bytes()[:65536])
