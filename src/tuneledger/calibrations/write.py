"""Write a calibration as a sheet: readable, and such that two revisions compare line by line.

One key per line, a table's rows one per line, each axis and each condition on a line of its own;
keys always in the same order, numbers as Python writes them (so that they read back exactly).
What a calibration does not set is not written.
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from typing import Any

from tuneledger.calibrations.model import Calibration
from tuneledger.calibrations.paths import as_raw
from tuneledger.wording import is_hidden

ALWAYS = ("reason", "enabled")  # written even where they say what is said by default
ORDER = (  # of keys, wherever they stand
    *("format", "id", "title", "revision", "saved", "notes"),
    *("reason", "enabled", "effect", "logged_as", "expected", "complete"),
    *("correction", "signal", "channel", "since", "minus", "over", "unit", "rate", "axes", "at"),
    *("values", "amount", "range", "ramp", "when", "above", "below", "between", "is"),
    *("release", "held", "linger", "until"),
    *("check", "places", "of", "below_map", "above_map", "lowest", "highest"),
)
DEGREES = (
    "values",
    "amount",
    "range",
    "ramp",
    "limits",
    "band",
)  # written with their decimal, even .0
ESCAPES = {
    "\b": "\\b",
    "\t": "\\t",
    "\n": "\\n",
    "\f": "\\f",
    "\r": "\\r",
    '"': '\\"',
    "\\": "\\\\",
}


def to_toml(calibration: Calibration) -> str:
    """The sheet's text; `check(parse(to_toml(c)))` equals `c`."""
    spark = calibration.spark
    general = {"complete": spark.complete} | _set_in(spark, leave=("map", "correction"))
    blocks = [
        _pairs(_set_in(calibration, leave=("engine", "spark", "audit"))),
        _block("[engine]", _set_in(calibration.engine)),
        _block("[spark]", general),
        _block("[spark.map]", _set_in(spark.map)),
    ]
    for correction in spark.correction:
        keys = _set_in(correction, leave=("weight",), keep=ALWAYS)
        blocks.append(_block("[[spark.correction]]", keys))
        if correction.weight is not None:
            blocks.append(_block("[spark.correction.weight]", _set_in(correction.weight)))
    blocks.append(_block("[audit]", _set_in(calibration.audit, leave=("accepted",))))
    blocks += [_block("[[audit.accepted]]", _set_in(one)) for one in calibration.audit.accepted]
    return "\n".join(block for block in blocks if block)


def _set_in(part: Any, leave: tuple[str, ...] = (), keep: tuple[str, ...] = ()) -> dict[str, Any]:
    """The keys of a part that say something, with raw values: no default, nothing absent."""
    fields = type(part).model_fields
    written = as_raw(part)
    unsaid = {
        field.alias or name
        for name, field in fields.items()
        if name not in keep and not field.is_required() and getattr(part, name) == field.default
    }
    return {key: written[key] for key in written if key not in unsaid and key not in leave}


def _block(heading: str, keys: Mapping[str, Any]) -> str:
    return f"{heading}\n{_pairs(keys)}" if keys else ""


def _pairs(keys: Mapping[str, Any]) -> str:
    return "".join(f"{key} = {_lines(value, key in DEGREES)}\n" for key, value in _sorted(keys))


def _sorted(keys: Mapping[str, Any]) -> list[tuple[str, Any]]:
    return sorted(keys.items(), key=lambda item: _RANK.get(item[0], len(ORDER)))


_RANK = {key: index for index, key in enumerate(ORDER)}


def _lines(value: Any, degrees: bool) -> str:
    """A value; a list of lists or of tables of keys has each item on a line of its own."""
    if isinstance(value, list) and value and isinstance(value[0], list | dict):
        return "[\n" + "".join(f"{line}\n" for line in _rows(value, degrees)) + "]"
    if isinstance(value, str) and "\n" in value:
        return _long_text(value)
    return inline(value, degrees)


def _rows(items: list[Any], degrees: bool, indent: str = "  ") -> Iterator[str]:
    for item in items:
        if isinstance(item, list) and item and isinstance(item[0], list):
            yield f"{indent}["
            yield from _rows(item, degrees, indent + "  ")
            yield f"{indent}],"
        else:
            yield f"{indent}{inline(item, degrees)},"


def inline(value: Any, degrees: bool) -> str:
    """A value in one line. degrees: whole numbers keep their .0, as degrees of advance do."""
    if isinstance(value, list):
        return f"[{', '.join(inline(item, degrees) for item in value)}]"
    if isinstance(value, dict):
        pairs = (f"{key} = {inline(item, degrees)}" for key, item in _sorted(value))
        return f"{{ {', '.join(pairs)} }}"
    return _scalar(value, degrees)


def _scalar(value: Any, degrees: bool) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{_escaped(value)}"'
    if isinstance(value, datetime | date):
        return value.isoformat()
    text = repr(value)
    return text if degrees or text == "-0.0" else text.removesuffix(".0")


def _long_text(value: str) -> str:
    """Text of several lines, as several lines."""
    lines = (_escaped(line) for line in value.split("\n"))
    return '"""\n' + "\n".join(lines) + '"""'


def _escaped(text: str) -> str:
    return "".join(ESCAPES.get(sign) or _visible(sign) for sign in text)


def _visible(sign: str) -> str:
    """What nobody sees by its number: TOML allows no control character in text (tab apart, handled
    above), and what turns the reading direction or has no width shows another text than there is.
    Half a character has no number in TOML, and stays.
    """
    code = ord(sign)
    if not is_hidden(sign) or 0xD800 <= code < 0xE000:
        return sign
    return f"\\u{code:04X}" if code < 0x10000 else f"\\U{code:08X}"
