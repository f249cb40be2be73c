"""The audit as one self-contained page: findings, and the reach of every cell as a picture.

It needs no script: a table whose cells are shaded by how far each can be moved, blue for what can
be taken and orange for what can be added, the numbers beside the colour.
"""

from importlib.resources import files

import numpy as np

from tuneledger.audit.groups import Group, groups, headline
from tuneledger.audit.model import MEANS, SEVERITIES, Audit
from tuneledger.audit.phrases import reading_name, unit_of
from tuneledger.audit.sheet import Audited
from tuneledger.audit.text import CARE, facts
from tuneledger.calibrations.model import Axis
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.still import without_scripts
from tuneledger.pages.tag import Markup, join, table, tag
from tuneledger.wording import count, degrees, listing, number, sentence, unit_words

SHADES = 6
STEP_DEG = 5.0  # one shade for each so many degrees
_STYLE = """
.reach td, .reach th { white-space: nowrap; }
.reach td { text-align: center; padding: 0.25rem; border: 1px solid var(--paper); }
.reach td b { font-weight: 600; display: block; }
.reach th { text-align: right; padding-right: 0.5rem; }
.reach thead th { text-align: center; }
.reach thead th:first-child { text-align: left; padding-right: 0.8rem; }
.reach tbody th { position: sticky; left: 0; background: var(--paper); }
.facts { margin: 0.6rem 0 0; }
.facts div { display: grid; grid-template-columns: 4.5rem 1fr; }
.facts dt { color: var(--soft); }
.facts dd { margin: 0; }
.finding { margin-top: 1rem; }
.finding h3 { font-size: 0.9375rem; }
"""


def audit_page(audit: Audit) -> str:
    """The complete HTML; it needs no other file and no network. The same audit, the same text."""
    found = groups(audit)
    title = listing([name_of(sheet.file) for sheet in audit.sheets])
    body = tag(
        "main",
        _head(audit, found),
        *(_section(found, severity) for severity in SEVERITIES[:-1]),
        _reach(audit.sheets[-1]),
        _section(found, SEVERITIES[-1]),
        _accepted(audit),
        *(_reach(sheet) for sheet in reversed(audit.sheets[:-1])),
        tag("footer", tag("section", tag("h2", "Cautions"), tag("p", CARE))),
    )
    style = files("tuneledger.pages").joinpath("web", "page.css").read_text(encoding="utf-8")
    return without_scripts(f"{title}: audit", body, style + _STYLE + _shades())


def _head(audit: Audit, found: list[Group]) -> Markup:
    """Whose calibration it is, the headline, and the facts."""
    named = [name_of(sheet.calibration.title) for sheet in audit.sheets]
    whose = next((name for name in reversed(named) if name), "")
    told = [
        tag("div", tag("dt", name), tag("dd", text_of(text))) for name, text in facts(audit, found)
    ]
    return tag(
        "header",
        tag("p", "Audit of a calibration", cls="what"),
        tag("p", tag("b", whose), cls="sources") if whose else "",
        tag("h1", text_of(headline(audit))),
        tag("dl", *told, cls="facts"),
    )


def _section(found: list[Group], severity: str) -> Markup:
    own = [group for group in found if group.severity == severity]
    if not own:
        return Markup("")
    said = count(len(own), severity)
    head = tag("h2", f"{said[:1].upper()}{said[1:]}")
    means = tag("p", sentence(MEANS[severity]), cls="soft")  # type: ignore[index]
    return tag("section", head, means, *(_finding(group) for group in own))


def _finding(group: Group) -> Markup:
    first = group.first
    places = listing([name_of(place) for f in group.findings for place in f.places[:3]])
    return tag(
        "div",
        *_words(group),
        tag("p", f"{first.check}; {places}", cls="soft"),
        cls="finding",
    )


def _words(group: Group) -> list[Markup]:
    said = text_of(group.first.says)
    if group.severity == "note":
        return [tag("p", said)]
    return [tag("h3", f"{group.number}. {said}"), tag("p", f"Do: {sentence(group.first.do)}")]


def _accepted(audit: Audit) -> Markup:
    own = [f for f in audit.findings if f.accepted is not None]
    if not own:
        return Markup("")
    rows = [[f.check, text_of(f.says), text_of(f.accepted or "")] for f in own]
    return tag("section", tag("h2", "Accepted"), table(["Check", "Finding", "Because"], rows))


def _reach(sheet: Audited) -> Markup:
    """The map's cells, each with the lowest and highest that can be delivered; a map over three
    axes as one table for each point of the first."""
    axes = sheet.calibration.spark.map.axes
    head = tag("h2", f"Reach, revision {name_of(sheet.called)}")
    exact = "" if sheet.reach.exact else " Not all of it could be found exactly: it is at most so."
    words = (
        "In each cell the lowest and highest advance that can be delivered there, and between them "
        "the map's own. The darker, the further off the map: blue where it can be taken, orange "
        f"where it can be added.{exact}"
    )
    layers = [()] if len(axes) < 3 else [(i,) for i in range(len(axes[0].at))]
    return tag(
        "section", head, tag("p", words, cls="explains"), *(_layer(sheet, at) for at in layers)
    )


def _layer(sheet: Audited, at: tuple[int, ...]) -> Markup:
    axes = sheet.calibration.spark.map.axes
    low, high, grid = (
        np.atleast_2d(values[at])
        for values in (
            sheet.reach.lowest.degrees,
            sheet.reach.highest.degrees,
            sheet.reach.scheduled,
        )
    )
    rows, columns = (axes[-2] if len(axes) > 1 else None), (axes[-1] if axes else None)
    heads = [tag("th", _both(rows, columns), scope="col")]
    heads += [tag("th", number(x), scope="col") for x in (columns.at if columns else ())]
    heads += [] if columns else [tag("th", "", scope="col")]
    lines = [
        tag(
            "tr",
            tag("th", number(rows.at[r]) if rows else "", scope="row"),
            *(_cell(low[r, c], grid[r, c], high[r, c]) for c in range(grid.shape[1])),
        )
        for r in range(grid.shape[0])
    ]
    shown = tag("table", tag("thead", tag("tr", *heads)), tag("tbody", *lines), cls="reach")
    name = f"{reading_name(axes[0])} {number(axes[0].at[at[0]])}" if at else ""
    return join(
        tag("h4", name) if name else Markup(""),
        tag("p", text_of(_axes(rows, columns)), cls="soft") if axes else Markup(""),
        tag("div", shown, cls="wide"),
    )


def _both(rows: Axis | None, columns: Axis | None) -> str:
    """The units of what runs down and across; short, since it stands in the table's corner."""
    units = [unit_words(unit_of(axis)) for axis in (rows, columns) if axis is not None]
    return " \\ ".join(units)


def _axes(rows: Axis | None, columns: Axis | None) -> str:
    named = [
        f"{name} {reading_name(axis)}"
        for name, axis in (("down:", rows), ("across:", columns))
        if axis is not None
    ]
    return sentence("; ".join(named)) if named else ""


def _cell(low: float, here: float, high: float) -> Markup:
    if not np.isfinite(here):
        return tag("td", "?")
    taken, added = (
        min(int(np.ceil(max(x, 0) / STEP_DEG)), SHADES) for x in (here - low, high - here)
    )
    return tag(
        "td",
        degrees(low, signed=False),
        tag("b", degrees(here, signed=False)),
        degrees(high, signed=False),
        cls=f"t{taken} a{added}",
    )


def _shades() -> str:
    """The taken as a wash from below, the added as one from above."""
    out = []
    for taken in range(SHADES + 1):
        for added in range(SHADES + 1):
            parts = [_mixed("below", taken), _mixed("above", added)]
            out.append(
                f".reach td.t{taken}.a{added} {{ background: linear-gradient(to bottom, "
                f"{parts[0]} 33%, transparent 33% 67%, {parts[1]} 67%); }}"
            )
    return "\n".join(out)


def _mixed(name: str, shade: int) -> str:
    return f"color-mix(in srgb, var(--{name}) {shade * 9}%, transparent)"
