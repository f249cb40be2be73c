"""A proof as JSON and as text."""

from collections.abc import Iterator
from typing import Any

from tuneledger.change.naming import called
from tuneledger.change.one_car import question
from tuneledger.change.paper import LABELS, page_width
from tuneledger.change.proof import Proof, Proven
from tuneledger.statement.facts import logs
from tuneledger.statement.json import as_cause, rounded
from tuneledger.statement.paper import (
    Line,
    Words,
    fitted,
    labelled,
    line,
    paragraph,
    printed,
    stacked,
)
from tuneledger.statement.ruled import heading, numbers
from tuneledger.wording import degrees, sentence, share

FORMAT = "tuneledger-proof/1"
CAUTION = (
    "This is the ECU's own report on what was driven: gone is not safe, and not shown is not "
    "fixed. Drive again where it says so, as mildly as shows it, on a closed course."
)
_MOST = 12


def as_json(proof: Proof) -> dict[str, Any]:
    """The contract's keys in the contract's order; `before` is the cause's rank then."""
    return {
        "format": FORMAT,
        "causes": [
            {"before": p.cause.rank, "state": p.state, "says": p.says} for p in proof.causes
        ],
        "new": [as_cause(cause) for cause in proof.new],
        "coverage": rounded(proof.coverage, 3),
        **({"questions": [question(proof.doubts)]} if proof.doubts else {}),
        **({"running": _running_json(proof)} if len(proof.after.sheets) > 1 else {}),
    }


def as_text(proof: Proof, *, width: int = 80, colour: bool = False) -> str:
    """The proof as text of at most `width` cells; plain where `colour` is off."""
    width = page_width(width)
    ink = "stop" if proof.after.raised_under_load else "strong"
    new = [sentence(f"{c.says} {c.next_step}") for c in proof.new[:_MOST]]
    sections = [
        paragraph(proof.headline, width, ink),
        labelled("Before", [logs(proof.before)], width, LABELS)
        + labelled("After", [logs(proof.after)], width, LABELS)
        + labelled("Running", _running(proof), width, LABELS)
        + labelled(
            "Covered",
            [proof.covered],
            width,
            LABELS,
        ),
        list(_causes(proof, width)),
        labelled("New", new, width, LABELS),
        labelled("Take care", [CAUTION], width, LABELS),
    ]
    return printed(stacked(sections), colour)


_COLUMNS = (("before", 9), ("now", 9), ("covered", 10))


def _running(proof: Proof) -> list[str]:
    """Which of several sheets each drive ran."""
    if len(proof.after.sheets) < 2:
        return []
    told = [one.says if one else "like none of the supplied revisions" for one in proof.revisions]
    return [f"before {told[0]}, after {told[1]}"]


def _running_json(proof: Proof) -> dict[str, Any]:
    """The revision per drive; null where it is like none or the drive cannot tell."""
    before, after = (one.name if one and not one.alike else None for one in proof.revisions)
    return {"before": before, "after": after}


def _causes(proof: Proof, width: int) -> Iterator[Line]:
    if not proof.causes:
        return
    room = width - sum(size for _, size in _COLUMNS)
    yield from heading("Cause", _COLUMNS, width)
    order = ("remains", "not shown", "gone")
    told = sorted(proof.causes, key=lambda p: (p.expected, order.index(p.state)))
    # Which of many are told goes by what became of them; their numbers stand in order.
    for one in sorted(told[:_MOST], key=lambda p: p.cause.rank):
        yield line(Words(fitted(_named(one, proof, room), room), "strong"), *_numbers(one))
        yield from paragraph(one.says, width, indent=3)
    if len(told) > _MOST:
        yield line(f"and {len(told) - _MOST} more, see --json")


def _named(one: Proven, proof: Proof, room: int) -> str:
    """Rank, name and state; of a long name what fits beside its state."""
    head, state = f"{one.cause.rank}  ", f": {one.state}{', expected' if one.expected else ''}"
    name = sentence(called(one.cause, proof.before)).rstrip(".")
    return f"{head}{fitted(name, room - len(head) - len(state) - 1).rstrip()}{state}"


def _numbers(one: Proven) -> Line:
    now = degrees(one.now.degrees) if one.now else "none" if one.state == "gone" else "?"
    cells = (degrees(one.cause.degrees), now, share(one.covered))
    return numbers([(cell, "") for cell in cells], _COLUMNS)
