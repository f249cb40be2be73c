"""Sheets as plain data: made into the model, and written as TOML by a writer of the car's own.

The virtual car hands over files, so it spells them itself; that the project's reader understands
them is then a check and not an echo.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from tuneledger.calibrations.model import FORMAT, Calibration

INLINE_UP_TO = 96  # columns


def calibration(sheet: Mapping[str, Any]) -> Calibration:
    """The model of a sheet given as nested dicts and lists, `format` supplied."""
    return Calibration.model_validate(_tuples({"format": FORMAT} | dict(sheet)))


def _tuples(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _tuples(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return tuple(_tuples(item) for item in value)
    return value


def to_toml(sheet: Mapping[str, Any]) -> str:
    """The sheet as a person would keep it: one table row per line, one correction per block."""
    spark = dict(sheet["spark"])
    the_map, corrections = spark.pop("map"), spark.pop("correction", [])
    top = {k: v for k, v in sheet.items() if k not in ("spark", "engine")}
    blocks = [_pairs({"format": FORMAT} | top)]
    if sheet.get("engine"):
        blocks.append("[engine]\n" + _pairs(sheet["engine"]))
    if spark:
        blocks.append("[spark]\n" + _pairs(spark))
    blocks.append("[spark.map]\n" + _pairs(the_map))
    blocks += ["[[spark.correction]]\n" + _pairs(c) for c in corrections]
    return "\n".join(blocks)


def _pairs(table: Mapping[str, Any]) -> str:
    return "".join(f"{key} = {_block(value, len(key) + 3)}\n" for key, value in table.items())


def _block(value: Any, indent: int) -> str:
    """A value, over several lines where it is a list of lists or of tables or would be long."""
    flat = _inline(value)
    nested = isinstance(value, Sequence) and not isinstance(value, str) and len(value) > 0
    if not nested or not isinstance(value[0], (list, tuple, Mapping)):
        return flat
    if len(value) == 1 and indent + len(flat) <= INLINE_UP_TO:
        return flat
    return "[\n" + "".join(f"  {_inline(item)},\n" for item in value) + "]"


def _inline(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(k)} = {_inline(v)}" for k, v in value.items()) + " }"
    return "[" + ", ".join(_inline(item) for item in value) + "]"


def _key(key: str) -> str:
    return key if key.replace("_", "").replace("-", "").isalnum() and key.isascii() else f'"{key}"'
