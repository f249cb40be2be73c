"""A small case made by hand: ten seconds, a wet-road switch that takes 4°, and a hidden rule."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.truth import Case

TIMES = np.arange(0.0, 10.0, 0.1)
SHEET = """\
format = "tuneledger-calibration/1"
revision = "D"

[spark.map]
axes = [{ signal = "engine speed", unit = "rpm", at = [1000, 6000] }]
values = [20.0, 20.0]

[[spark.correction]]
id = "wet-road"
reason = "driver switch"
amount = -4.0
when = [{ channel = "Wet", is = "on" }]
"""
WET = (TIMES >= 3.0) & (TIMES < 6.0)


def wet_case(folder: Path) -> Case:
    """Delivered is 4° below scheduled from 3 s to 6 s, and the only sheet says why."""
    truth = _truth()
    case = _write(folder, truth, np.where(WET, -4.0, 0.0), "wet-road")
    (folder / "rev-d.toml").write_text(SHEET, encoding="utf-8")
    return case


def hidden_case(folder: Path) -> Case:
    """The same run without a sheet: the rule is hidden, and another drive holds it out."""
    truth = _truth()
    rule = {"when": [{"channel": "Wet", "is": "on"}], "amount_deg": -4.0}
    truth["calibrations"], truth["running"] = [], None
    truth["explained_by_files"], truth["entries_computable"] = False, []
    cause = {"kind": "hidden rule", "accept_kinds": ["hidden rule"], "rule": rule}
    truth["causes"] = [truth["causes"][0] | cause | {"correction": None, "revision": None}]
    truth["heldout_format"] = truth["log_format"]
    case = _write(folder, truth, np.where(WET, -4.0, 0.0), "secret")
    late = (TIMES >= 7.0) & (TIMES < 9.0)
    _log(folder / "heldout.csv", late, np.where(late, -4.0, 0.0))
    hidden = np.where(late, -4.0, 0.0)
    lines = ["time_s,hidden_deg", *(f"{t:.3f},{h:.3f}" for t, h in zip(TIMES, hidden, strict=True))]
    (folder / "heldout_truth.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return case


def quiet_case(folder: Path) -> Case:
    """Nothing is wrong."""
    truth = _truth()
    truth |= {"verdict": "agrees", "verdicts_accepted": ["agrees"], "causes": [], "episodes": []}
    truth |= {"explained_by_files": False, "entries_computable": []}
    return _write(folder, truth, np.zeros_like(TIMES), "wet-road")


def _write(folder: Path, truth: dict[str, Any], entry: Any, correction: str) -> Case:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "truth.json").write_text(json.dumps(truth), encoding="utf-8")
    _log(folder / "log.csv", WET, entry)
    rows = [f"time_s,scheduled_deg,delivered_deg,entry:{correction},limit_deg,other_map_deg"]
    rows += [f"{t:.3f},20,{20 + e},{e},0,0" for t, e in zip(TIMES, entry, strict=True)]
    (folder / "truth.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return Case(folder)


def _log(path: Path, wet: Any, entry: Any) -> None:
    rows = ["Clock;Rev;Asked;Given;Wet"]
    for time, on, deg in zip(TIMES, wet, entry, strict=True):
        cells = [f"{time:.1f}", "3000", "20,0", f"{20 + deg:.1f}", "on" if on else "off"]
        rows.append(";".join(cell.replace(".", ",") for cell in cells))
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


def _truth() -> dict[str, Any]:
    return {
        "format": "truth/1",
        "kind": "D",
        "variant": "by hand",
        "log": {"file": "log.csv", "samples": TIMES.size},
        "calibrations": ["rev-d.toml"],
        "roles": {
            "engine speed": {"channel": "Rev", "unit": "rpm"},
            "scheduled advance": {"channel": "Asked", "unit": "deg"},
            "delivered advance": {"channel": "Given", "unit": "deg"},
        },
        "roles_needed": ["delivered advance", "engine speed", "scheduled advance"],
        "tolerance_deg": 0.3,
        "spark_step": 0.1,
        "delivered_every": 1,
        "exits_if_expected": [0],
        "verdict": "explained",
        "verdicts_accepted": ["explained"],
        "running": {"supplied": "D", "best": "D", "best_accepted": ["D"]},
        "causes": [
            {
                "rank": 1,
                "kind": "correction",
                "accept_kinds": ["correction"],
                "correction": "wet-road",
                "revision": "D",
                "degrees": -4.0,
                "main": True,
            }
        ],
        "needs": [],
        "explained_by_files": True,
        "episodes_scored": True,
        "episodes_about": "delivery",
        "entries_computable": ["wet-road"],
        "episodes": [
            {"start_s": 3.0, "end_s": 5.9, "about": "delivery", "unaccounted_deg": 0.0},
        ],
        "log_format": {
            "delimiter": ";",
            "decimal": ",",
            "encoding": "utf-8",
            "preamble_lines": 0,
            "unit_row": False,
            "time_as": "s",
            "columns": ["Clock", "Rev", "Asked", "Given", "Wet"],
            "units": {"Rev": "rpm", "Asked": "deg", "Given": "deg"},
        },
    }
