"""Change orders that several tests ask for."""

from typing import Any

from tests.explain.parts import AIR, AT, DEG
from tests.explain.told import told
from tests.runs import Run, along, charge_air, climb, sheet
from tuneledger.change.edits import Edit, carry_out
from tuneledger.change.order import Order, order_of
from tuneledger.statement.model import Statement

EASED = (0.0, 0.0, -1.0, -2.0)


def hot(run: Run) -> Run:
    return run.post("charge-air", along(run, AIR, AT, DEG))


def ordered(statement: Statement, *edits: tuple[str, Any], revision: str = "E") -> Order:
    supplied = statement.sheets[0]
    new, changes = carry_out(
        supplied.calibration, [Edit(*one) for one in edits], file="c", sheet=supplied.file
    )
    return order_of(statement, new.model_copy(update={"revision": revision}), changes)


def one_sheet(*more: dict[str, Any], run: Run | None = None) -> Statement:
    return told(run or hot(climb()), sheet("rev-d.toml", "D", [charge_air(DEG), *more]))


EDIT = ("spark.correction.charge-air.values[2]", -1.0)
