"""Small descriptions and calibration data that swell as they are read: refused, in words."""

import pytest

from tests.calibrations.asam.making import project
from tests.calibrations.asam.test_cdf import file, store, v, value
from tuneledger.calibrations.asam.a2l import blocks
from tuneledger.calibrations.asam.a2l.blocks import Reading
from tuneledger.calibrations.asam.a2l.description import read_description
from tuneledger.calibrations.asam.a2l.tokens import Page
from tuneledger.calibrations.asam.cdf import read
from tuneledger.calibrations.asam.cdf.read import read_instances
from tuneledger.calibrations.asam.limits import INCLUDES, NAME
from tuneledger.errors import CalibrationError

WORD = "/begin MOD_PAR a b c /end MOD_PAR\n"


def including(name: str, times: int) -> Page:
    return Page(f'/include "{name}"\n' * times, "part.a2l")


def test_files_that_include_each_other_again_and_again_are_refused() -> None:
    pages = {f"{level}.a2l": including(f"{level + 1}.a2l", 30) for level in range(1, 6)}
    pages["6.a2l"] = Page("", "6.a2l")
    main = Page(project('/include "1.a2l"\n' * 30), "main.a2l")
    with pytest.raises(CalibrationError, match="again and again; expected at most 10,000 times"):
        read_description(main, pages)


def test_files_that_are_not_there_count_as_well() -> None:
    main = Page(project("".join(f"/include n{n}.a2l\n" for n in range(INCLUDES + 1))), "main.a2l")
    with pytest.raises(CalibrationError, match="again and again"):
        read_description(main, {})


def test_as_many_files_as_a_project_has_are_included() -> None:
    reading = Reading({"part.a2l": Page(WORD, "part.a2l")})
    reading.tree(Page(project('/include "part.a2l"\n' * 2000), "main.a2l"))
    assert reading.count == 2003


def test_what_included_files_hold_counts_each_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blocks, "DESCRIPTION_BYTES", 20_000)
    given = {"part.a2l": Page("/* long */" * 100, "part.a2l")}
    Reading(given).tree(Page(project('/include "part.a2l"\n' * 18), "main.a2l"))
    with pytest.raises(CalibrationError, match=r"line 24: the included files make it too large"):
        Reading(given).tree(Page(project('/include "part.a2l"\n' * 20), "main.a2l"))


def test_words_are_counted_over_all_files(monkeypatch: pytest.MonkeyPatch) -> None:
    given = {"part.a2l": Page(WORD, "part.a2l")}
    page = Page(project('/include "part.a2l"\n' * 20), "main.a2l")
    reading = Reading(given)
    reading.tree(page)
    assert 60 <= reading.words < 100
    monkeypatch.setattr(blocks, "WORDS", reading.words - 1)
    with pytest.raises(CalibrationError, match=r"more words than that; expected at most \d"):
        Reading(given).tree(page)


def test_a_long_name_is_not_copied_into_all_that_stand_in_it() -> None:
    inner = "<SW-INSTANCE><SHORT-NAME>B</SHORT-NAME></SW-INSTANCE>" * 400
    data = file(f"<SHORT-NAME>{'A' * 200_000}</SHORT-NAME>{inner}")
    with pytest.raises(CalibrationError, match=r'a name of 200,000 characters, "AAA') as problem:
        read_instances(data, "a.cdfx")
    assert len(str(problem.value)) < 300


def test_a_name_may_be_as_long_as_the_standard_has_it() -> None:
    half = "A" * (NAME // 2 - 1)
    inner = value(v(3)).replace(">P<", f">{half}<")
    outer = f"<SHORT-NAME>{half}B</SHORT-NAME><SW-INSTANCE>{inner}</SW-INSTANCE>"
    assert [len(name) for name in store(outer).names] == [NAME // 2, NAME]
    with pytest.raises(CalibrationError, match="a name of 1,025 characters"):
        store(outer.replace("B<", "BB<"))


def test_names_together_have_a_bound_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(read, "NAMES", 1000)
    inner = "<SW-INSTANCE><SHORT-NAME>B</SHORT-NAME></SW-INSTANCE>"
    assert len(store(f"<SHORT-NAME>{'A' * 50}</SHORT-NAME>{inner * 10}").names) == 2
    with pytest.raises(CalibrationError, match="instances in instances, with too much of names"):
        store(f"<SHORT-NAME>{'A' * 50}</SHORT-NAME>{inner * 20}")
