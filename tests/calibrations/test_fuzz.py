"""Whatever is done to a sheet, it opens whole or is refused in words; nothing else happens."""

from collections.abc import Callable
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import calibrations
from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.paths import as_raw
from tuneledger.calibrations.text import decode, parse
from tuneledger.calibrations.write import to_toml
from tuneledger.errors import Fault, SheetError

ODD: st.SearchStrategy[Any] = st.sampled_from(
    (None, True, 0, -1, 1e308, 10**400, float("nan"), "", "x", "?", [], [[]], {}, {"any": []})
)


def refusal(read: Callable[[], object]) -> list[Fault] | None:
    """The faults for which something is refused; None where it is taken."""
    try:
        read()
    except SheetError as error:
        return list(error.faults)
    return None


def in_words(faults: list[Fault] | None) -> bool:
    """Taken, or refused with at least one fault, each told once and in words of our own."""
    if faults is None:
        return True
    told = [str(fault) for fault in faults]
    return 0 < len(told) == len(set(told)) and not any("pydantic" in text for text in told)


def spots(value: Any) -> list[tuple[Any, Any]]:
    """Every (container, key) below a raw tree."""
    keys: Any = value.keys() if isinstance(value, dict) else range(len(value))
    found = [(value, key) for key in keys]
    for key in list(keys):
        if isinstance(value[key], dict | list):
            found += spots(value[key])
    return found


@settings(deadline=None, max_examples=60)
@given(calibrations(most=3), st.data())
def test_any_value_anywhere_is_taken_or_refused_in_words(
    calibration: Calibration, data: st.DataObject
) -> None:
    raw = as_raw(calibration)
    for _ in range(data.draw(st.integers(1, 3))):
        container, key = data.draw(st.sampled_from(spots(raw)))
        kind = data.draw(st.sampled_from(("replace", "drop", "rename")))
        if kind == "replace":
            container[key] = data.draw(ODD)
        elif kind == "rename" and isinstance(container, dict):
            container[f"{key}x"] = container.pop(key)
        else:
            del container[key]
        if not spots(raw):
            break
    assert in_words(refusal(lambda: check(raw)))


@settings(deadline=None, max_examples=60)
@given(calibrations(most=2), st.data())
def test_any_slip_of_the_pen_is_taken_or_refused_in_words(
    calibration: Calibration, data: st.DataObject
) -> None:
    text = to_toml(calibration)
    at = data.draw(st.integers(0, len(text)))
    length = data.draw(st.integers(0, 3))
    typed = data.draw(
        st.sampled_from(("", '"', "[", "]", "{", ",", "=", "\n", "−", "“", "\0", "é"))
    )
    slipped = text[:at] + typed + text[at + length :]
    assert in_words(refusal(lambda: check(parse(slipped))))


@given(st.binary(max_size=200))
def test_any_bytes_are_text_or_refused(data: bytes) -> None:
    faults = refusal(lambda: parse(decode(data)))
    assert faults is None or len(faults) == 1
