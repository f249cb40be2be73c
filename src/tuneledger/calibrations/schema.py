"""The sheet's JSON Schema (draft 2020-12), made from the model: for editors and other programs.

`python -m tuneledger.calibrations.schema` writes it anew into `sheet.schema.json` beside this
file; a test holds the two equal. It describes the tree that a TOML reader gives, dates as text.

A schema cannot say everything: that an axis rises, that values have the axes' shape, that ids
differ, that a unit fits its signal, that a release lies on the right side. `check` says all of it.
"""

import json
from pathlib import Path
from typing import Any

from tuneledger.calibrations.model import FORMAT, Calibration
from tuneledger.calibrations.rules.conditions import COMPARISONS
from tuneledger.calibrations.rules.readings import SOURCES
from tuneledger.calibrations.rules.tables import MOST_AXES
from tuneledger.signals import SIGNALS

FILE = Path(__file__).with_name("sheet.schema.json")

EXACTLY_ONE = {"Axis": (SOURCES,), "Comparison": (SOURCES, COMPARISONS)}
TABLES = ("Table", "Correction")


def sheet_schema() -> dict[str, Any]:
    """The schema as nested dicts."""
    made = Calibration.model_json_schema(by_alias=True)
    parts: dict[str, Any] = made["$defs"]
    for name, groups in EXACTLY_ONE.items():
        parts[name]["allOf"] = [_exactly_one(group) for group in groups]
        parts[name]["properties"]["signal"] = {"enum": list(SIGNALS)}
    for name in TABLES:
        parts[name]["properties"]["axes"]["maxItems"] = MOST_AXES
        parts[name]["dependentRequired"] = {"axes": ["values"], "values": ["axes"]}
        parts[name]["not"] = {"required": ["values", "amount"]}
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"A calibration sheet ({FORMAT})",
    }
    plain: dict[str, Any] = _plain(made)
    return head | plain


def schema_text() -> str:
    """The schema as a file holds it."""
    return json.dumps(sheet_schema(), indent=1, ensure_ascii=False) + "\n"


def _exactly_one(keys: tuple[str, ...]) -> dict[str, Any]:
    return {"oneOf": [{"required": [key]} for key in keys]}


def _plain(node: Any) -> Any:
    """Without what concerns the model only: null for an absent key, made-up titles, defaults."""
    if isinstance(node, list):
        return [_plain(item) for item in node]
    if not isinstance(node, dict):
        return node
    node = {
        key: {name: _plain(part) for name, part in item.items()}
        if key in ("properties", "$defs")  # what is below has names of a sheet
        else _plain(item)
        for key, item in node.items()
        if key not in ("title", "default")
    }
    choices = [choice for choice in node.get("anyOf", []) if choice != {"type": "null"}]
    if len(choices) == 1 and len(node["anyOf"]) == 2:
        return {key: item for key, item in node.items() if key != "anyOf"} | choices[0]
    return node | {"anyOf": choices} if choices else node


if __name__ == "__main__":
    FILE.write_text(schema_text(), encoding="utf-8")
