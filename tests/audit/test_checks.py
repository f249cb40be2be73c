"""Every check has a case that it finds, a near miss that it must not flag, and a page."""

from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.audit.finds import FINDS
from tests.audit.leaves import LEAVES_FAULTS
from tests.audit.leaves_doubts import LEAVES_DOUBTS
from tests.audit.parts import HOT_AIR, WET, amount, governor, guard
from tests.audit.sheetlike import (
    audited,
    found,
    sheet,
)
from tuneledger.audit.model import SEVERITIES
from tuneledger.audit.registry import CHECKS, load, module_of
from tuneledger.calibrations.model import Calibration
from tuneledger.car.cases.setting import varied
from tuneledger.car.maps import random_map
from tuneledger.car.vehicle import VEHICLES

LEAVES = LEAVES_FAULTS | LEAVES_DOUBTS


def cases(of: dict[str, dict[str, list[Calibration]]]) -> list[Any]:
    return [
        pytest.param(name, sheets, id=f"{name}: {why}")
        for name, by_why in of.items()
        for why, sheets in by_why.items()
    ]


@pytest.mark.parametrize(("name", "sheets"), cases(FINDS))
def test_it_finds(name: str, sheets: list[Calibration]) -> None:
    told = found(name, *sheets)
    assert told
    for finding in told:
        assert finding.severity in SEVERITIES
        assert "fault of its own" not in finding.says
        assert finding.says.endswith((".", "?"))
        assert finding.places
        assert finding.do


@pytest.mark.parametrize(("name", "sheets"), cases(LEAVES))
def test_a_near_miss_is_left_alone(name: str, sheets: list[Calibration]) -> None:
    assert [f.says for f in found(name, *sheets)] == []


def test_no_sane_map_is_said_to_have_swapped_rows_and_each_swap_in_the_middle_is_found() -> None:
    """Maps as the generator of cases makes them, uneven as if by hand."""
    told = 0
    for seed in range(200):
        rng = np.random.default_rng(seed)
        made = random_map(rng, varied(rng, VEHICLES[seed % len(VEHICLES)]))
        assert not found("rows-swapped", sheet(map=made)), seed
        first = 0 if made["axes"][0]["signal"] != "engine speed" else 1
        rows = np.moveaxis(np.array(made["values"]), first, 0).copy()
        steps = (rows[:-1] - rows[1:])[1:]
        i = 1 + int(np.argmax(steps.min(axis=1)))
        if steps[i - 1].min() < 0.0 or steps[i - 1].mean() < 1.0:
            continue
        rows[[i, i + 1]] = rows[[i + 1, i]]
        turned = made | {"values": np.moveaxis(rows, 0, first).tolist()}
        told += bool(found("rows-swapped", sheet(map=turned)))
    assert told > 100


def test_every_check_has_a_case_a_near_miss_and_a_page() -> None:
    assert set(FINDS) == set(LEAVES) == set(CHECKS)
    assert all(FINDS.values()), "no check without a case"
    assert all(LEAVES.values()), "no check without a near miss"
    folder = Path(str(import_module("tuneledger.audit.checks").__file__)).parent
    files = {path.stem.replace("_", "-") for path in folder.glob("*.py")} - {"--init--"}
    assert files == set(CHECKS), "one file for each check, one line in the registry"
    for name in CHECKS:
        page = import_module(module_of(name)).__doc__ or ""
        parts = ("What it finds", "Why it matters", "Example", "What to do", "When to ignore it")
        assert [part for part in parts if f"**{part}.**" not in page] == [], name
        assert callable(load(name))


def test_a_healthy_sheet_has_nothing_to_ask() -> None:
    healthy = sheet(
        HOT_AIR,
        guard(-8.0),
        governor([-5.0, -3.0, 0.0, 3.0, 5.0]),
        amount(-4.0, WET, reason="driver switch", ramp=40.0),
        limits={"lowest": -30.0, "highest": 40.0},
    )
    result = audited(healthy)
    assert result.open == ()
    assert result.exit_status == 0
    assert {f.check for f in result.findings} == {"moves"}


def test_a_check_that_breaks_is_a_finding_and_the_others_go_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(_: object) -> None:
        raise RuntimeError("no such cell")

    monkeypatch.setattr("tuneledger.audit.checks.flicker.check", broken)
    result = audited(sheet(amount(-4.0, WET)))
    (told,) = (f for f in result.findings if f.check == "flicker")
    assert "no such cell" in told.says
    assert {f.check for f in result.findings} == {"flicker", "moves"}
