"""A rehearsal on the terminal: places in words, numbers with units."""

from tests.change.rehearsals import DEG, edited, hot, hot_statement
from tests.explain.told import told
from tests.runs import charge_air, climb, sheet
from tuneledger.change.rehearsal_text import as_text


def test_the_change_is_told_in_words_and_degrees() -> None:
    text = as_text(
        edited(
            hot_statement(),
            ("spark.correction.charge-air.values[2]", -1.0),
            ("spark.map.values[4][3]", 16.0),
            ("spark.limits.lowest", -4.0),
        )
    )
    assert "Hot charge air (charge-air) at 60 °C  −3.0° → −1.0°" in text
    assert "the main map at 200 kPa, 5000 rpm" in text
    assert "→ 16.0°" in text
    assert "the limits: lowest" in text
    assert "−8.0° → −4.0°" in text
    assert "spark." not in text


def test_limits_that_are_edited_are_not_moved_along() -> None:
    low = edited(hot_statement(), ("spark.limits.highest", 30.0))
    assert any(shift.entry == "limit" and shift.edited for shift in low.shifts)
    assert "moved along" not in as_text(low)


def test_limits_that_cut_what_another_edit_adds_are_moved_along() -> None:
    cut = sheet("rev-d.toml", "D", [charge_air(DEG)])
    made = edited(
        told(hot(climb()), cut), ("spark.correction.charge-air.values", [15.0, 15.0, 15.0, 15.0])
    )
    assert "the limits, moved along by the edit" in as_text(made)
