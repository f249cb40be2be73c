"""What of a sheet can be edited in place: switches, amounts, tables of one and of two axes."""

import json
import math
from collections.abc import Sequence

from tuneledger.calibrations.model import Calibration, Correction, Table
from tuneledger.change.differences import place_of
from tuneledger.change.edits import Edit
from tuneledger.desk.whatif import WhatIf
from tuneledger.pages.names import name_of
from tuneledger.pages.tag import NOTHING, Markup, join, tag
from tuneledger.pages.visits import side_of
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.wording import quantity

_EXPLAINS = (
    "Switch a correction off or on, or change what it takes or adds: the broad pale line in the "
    "strips is what would have been delivered on these drives. Cells of the main map can be chosen "
    "in the map below as well. Nothing is written to the sheet, and nothing to any ECU."
)


def what_if_section(found: WhatIf | None, statement: Statement) -> Markup:
    """The form, as it stands with the edits made so far; nothing where there is no sheet."""
    if found is None:
        return NOTHING
    others = [sheet for sheet in statement.sheets if sheet is not found.sheet]
    calibration = found.sheet.calibration
    edits = {edit.place: edit for edit in found.edits}
    corrections = calibration.spark.correction
    rows = [_main(calibration, edits), *(_row(correction, edits) for correction in corrections)]
    says = f"It starts from revision {name_of(calibration.revision)}, {name_of(found.sheet.file)}."
    heads = ("On", "Correction", "Posts, degrees")
    form = tag(
        "table",
        tag("thead", tag("tr", *(tag("th", text, scope="col") for text in heads))),
        tag("tbody", *rows),
        cls="edits",
    )
    return tag(
        "section",
        tag("h2", "What if"),
        tag("p", f"{_EXPLAINS} {says}", cls="explains"),
        _whole(others, found.to),
        tag("fieldset", tag("div", form, cls="wide"), id="edits", disabled=bool(found.to)),
        tag("div", id="rehearsal", aria_live="polite"),
        id="what-if",
        data_map=_map(calibration),
        data_edits=json.dumps({place: edit.to for place, edit in edits.items() if "][" in place}),
    )


def _whole(others: Sequence[SuppliedSheet], chosen: str) -> Markup:
    """The choice between edits and all of another sheet."""
    if not others:
        return NOTHING
    options = [tag("option", "the changes made here", value="")]
    options += [
        tag(
            "option",
            f"all of revision {name_of(sheet.calibration.revision)}, {name_of(sheet.file)}",
            value=sheet.file,
            selected=sheet.file == chosen,
        )
        for sheet in others
    ]
    return tag("p", tag("label", "Rehearse ", tag("select", *options, id="whole")), cls="whole")


def _row(correction: Correction, edits: dict[str, Edit]) -> Markup:
    place = place_of(correction.id)
    title = name_of(correction.called)
    return tag(
        "tr",
        tag("td", _switch(f"{place}.enabled", correction.enabled, edits, title)),
        tag("th", title, " ", tag("small", correction.reason), scope="row"),
        tag("td", _numbers(correction, place, edits, title)),
    )


def _main(calibration: Calibration, edits: dict[str, Edit]) -> Markup:
    numbers = _numbers(calibration.spark.map, "spark.map", edits, "Main map")
    name = tag("th", "Main map ", tag("small", "what is asked for"), scope="row")
    return tag("tr", tag("td"), name, tag("td", numbers))


def _switch(place: str, was: bool, edits: dict[str, Edit], title: str) -> Markup:
    now = bool(edits[place].to) if place in edits else was
    return tag(
        "input",
        type="checkbox",
        checked=now,
        data_place=place,
        data_was=str(was).lower(),
        aria_label=f"{title} is on",
    )


def _numbers(table: Table, place: str, edits: dict[str, Edit], title: str) -> Markup:
    if table.amount is not None:
        field = _field(f"{place}.amount", table.amount, edits, f"{title}, amount in degrees")
        return join(field, " °")
    if len(table.axes) == 1:
        axis, values = table.axes[0], table.grid.tolist()
        fields = [
            tag(
                "label",
                tag("small", quantity(at, axis.unit)),
                _field(
                    f"{place}.values[{i}]", value, edits, f"{title} at {quantity(at, axis.unit)}"
                ),
            )
            for i, (at, value) in enumerate(zip(axis.at, values, strict=True))
        ]
        name = tag("small", f"degrees over {side_of(axis).name}", cls="over")
        return join(tag("span", *fields, cls="points"), name)
    if len(table.axes) == 2:
        return _cells(table, place, title)
    if table.has_numbers:
        shape = " × ".join(str(len(axis.at)) for axis in table.axes)
        return tag("small", f"a table of {shape} points; edit it in a change file")
    return tag("small", "worked out by the ECU itself")


def _field(place: str, was: float, edits: dict[str, Edit], title: str) -> Markup:
    known = math.isfinite(was)  # a cell that nobody knows is not a number
    now = edits[place].to if place in edits else was
    return tag(
        "input",
        type="number",
        step="0.5",
        value=_plain(float(now)) if known or place in edits else "",
        placeholder=None if known else "?",
        data_place=place,
        data_was=_plain(was) if known else "",
        aria_label=title,
    )


def _plain(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")


def _map(calibration: Calibration) -> str | None:
    """The main map for the cells of the page's own map; None where it is not one of two axes."""
    table = calibration.spark.map
    if len(table.axes) != 2:
        return None
    return json.dumps(
        {
            "revision": name_of(calibration.revision),
            "at": [list(axis.at) for axis in table.axes],
            "values": _known(table),
        }
    )


def _known(table: Table) -> list[list[float | None]]:
    return [[v if math.isfinite(v) else None for v in row] for row in table.grid.tolist()]


def _cells(table: Table, place: str, title: str) -> Markup:
    """A table of two axes: its cells become fields once somebody opens it."""
    down, across = table.axes
    sides = [side_of(axis) for axis in table.axes]
    names = [f"{side.name}, {side.unit}" if side.unit else side.name for side in sides]
    told = {
        "place": place,
        "title": title,
        "over": f"degrees; ↓ {names[0]} → {names[1]}",
        "heads": [[quantity(at, "") for at in axis.at] for axis in table.axes],
        "at": [
            [quantity(at, side.unit) for at in axis.at]
            for axis, side in zip(table.axes, sides, strict=True)
        ],
        "values": _known(table),
    }
    says = f"a table of {len(down.at)} × {len(across.at)} points"
    inside = tag("div", cls="wide")
    return tag("details", tag("summary", says), inside, cls="cells", data_cells=json.dumps(told))
