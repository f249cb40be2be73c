"""Where one sheet asks for more advance than another, driven or not: what can hurt an engine."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import reduce

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.calibrations.model import Axis, Calibration, Correction, Table
from tuneledger.change.points import comparable, on_points
from tuneledger.evaluate.lookup import cell_of
from tuneledger.evaluate.model import Contribution, Inputs
from tuneledger.evaluate.readings import read
from tuneledger.evaluate.replay import contributions
from tuneledger.record import record
from tuneledger.roles.inputs import LogInputs
from tuneledger.statement.model import Statement
from tuneledger.wording import count, degrees, quantity, sentence

_LEAST_DEG = 0.05  # what is less is written as nothing
# What says how much a correction moves, where it stands, and what is only said about it.
_COMPARED = {"axes": (), "values": None, "amount": None, "enabled": True}
_REMARKS = {"title": "", "expected": None, "logged_as": None, "reason": "other"}
# What is told of a correction that does not add, switched off or on; the others raise nothing.
_RULES = {
    ("base", False): "no longer put its map in place of the main one",
    ("base", True): "put its map in place of the main one",
    ("replace", False): "no longer set the advance where it acts",
    ("replace", True): "set the advance where it acts",
    ("at most", False): "no longer hold the advance down",
    ("at least", True): "hold the advance up",
}


@record
class Raise:
    """One cell of a table in which the edited sheet asks for more.

    place: in words; by: degrees, above zero, NaN where the two cannot be compared
    seen:  whether a log was nearest to this cell, acting; None where it lacks what tells
    """

    place: str
    by: float
    seen: bool | None


@record(eq=False)
class Driven:
    """One log: its inputs, the rows that count, and in which of them each correction acts.

    active: without the corrections of which the log cannot tell
    """

    inputs: Inputs
    rows: BoolArray
    active: Mapping[str, BoolArray]

    @classmethod
    def of(cls, inputs: Inputs, rows: BoolArray, parts: Iterable[Contribution]) -> "Driven":
        """parts: every correction of the one sheet and the other."""
        active: dict[str, BoolArray] = {}
        unknown = set[str]()
        for part in parts:
            active[part.correction] = part.active | active.get(part.correction, False)
            if not part.computable[rows].all():
                unknown.add(part.correction)
        told = {name: acts for name, acts in active.items() if name not in unknown}
        return cls(inputs, rows, told)


def driven(statement: Statement, old: Calibration, new: Calibration) -> list[Driven]:
    """What each log with an account visited."""
    out = []
    for account in statement.logs:
        ledger = account.ledger
        if ledger is None:
            continue
        inputs = LogInputs(account.log, account.roles, ledger.times)
        rows = ledger.own & ~ledger.void & np.isfinite(ledger.delivered)
        parts = [part for sheet in (old, new) for part in contributions(sheet, inputs)]
        out.append(Driven.of(inputs, rows, parts))
    return out


def raises(old: Calibration, new: Calibration, logs: Sequence[Driven]) -> tuple[Raise, ...]:
    """Every cell that asks for more, the largest first; those that cannot be compared last.

    A correction counts by what it adds: one that takes, switched off, raises.
    """
    found = list(_of_map(old.spark.map, new.spark.map, logs))
    mine = {c.id: c for c in old.spark.correction}
    theirs = {c.id: c for c in new.spark.correction}
    for name in dict.fromkeys([*mine, *theirs]):
        found += _of_correction(mine.get(name), theirs.get(name), logs)
    return tuple(sorted(found, key=lambda one: -np.nan_to_num(one.by)))


def largest(found: Sequence[Raise]) -> float:
    """The most that is raised, degrees; 0 where nothing is, without end where nobody knows."""
    return max((np.inf if np.isnan(one.by) else one.by for one in found), default=0.0)


def raised_words(found: Sequence[Raise]) -> list[str]:
    """`raises advance by up to 23.5° (the main map at 240 kPa, 5000 rpm, and 2 more places)`.

    After it, in words of their own, the places of which nobody knows by how much.
    """
    known = [one for one in found if np.isfinite(one.by)]
    unknown = [one for one in found if not np.isfinite(one.by)]
    out = []
    if known:
        most = degrees(largest(known), signed=False)
        upto = "up to " if len(known) > 1 else ""
        out.append(f"raises advance by {upto}{most} ({_first(known)})")
    if unknown:
        out.append(f"may raise advance, nobody can say how much ({_first(unknown)})")
    return out


def _first(found: Sequence[Raise]) -> str:
    more = f", and {count(len(found) - 1, 'more place')}" if len(found) > 1 else ""
    return f"{found[0].place}{more}"


def unseen_words(found: Sequence[Raise], most: int = 3) -> str | None:
    """Where no log shows that anybody was, by name; None where the logs were everywhere."""
    unseen = [one for one in found if not one.seen]
    if not unseen:
        return None
    known = [one for one in unseen if one.by > 0]
    named = [f"{one.place} ({degrees(one.by)})" for one in known[:most]]
    if len(known) > most:
        named.append(count(len(known) - most, "more place"))
    open_ = [one.place for one in unseen if one not in known]
    if len(open_) > most:
        open_ = [*open_[:most], count(len(open_) - most, "more place")]
    told = [f"nobody is shown to have driven at: {'; '.join(named)}"] if named else []
    told += [f"no log shows what this would come to: {'; '.join(open_)}"] if open_ else []
    return ". ".join([told[0], *map(sentence, told[1:])]).removesuffix(".")


def _of_map(old: Table, new: Table, logs: Sequence[Driven]) -> Iterator[Raise]:
    if comparable(old, new):
        yield from _cells("the main map", old, new, logs, None)
    else:
        yield Raise("the main map, which reads something else", np.nan, None)


def _of_correction(
    before: Correction | None, after: Correction | None, logs: Sequence[Driven]
) -> Iterator[Raise]:
    one = before if before is not None and before.enabled else None
    other = after if after is not None and after.enabled else None
    some = other or one
    if some is None:
        return
    if one is not None and other is not None:
        same = {**_COMPARED, **_REMARKS}
        alike = one.model_copy(update=same) == other.model_copy(update=same)
        if alike and comparable(one, other):
            yield from _cells(some.called, one, other, logs, some.id)
        else:
            yield Raise(f"{some.called}, which would act otherwise", np.nan, None)
    elif some.effect != "add":
        rules = _RULES.get((some.effect, other is not None))
        if rules is not None:
            yield Raise(f"{some.called}, which would {rules}", np.nan, None)
    else:
        nothing = Table(amount=0.0)
        yield from _cells(some.called, one or nothing, other or nothing, logs, some.id)


def _cells(
    called: str, old: Table, new: Table, logs: Sequence[Driven], name: str | None
) -> Iterator[Raise]:
    """The raised cells, at the points of both tables together; one without axes is flat.

    A cell that only one of the two knows may be raised: nobody can say by how much.
    """
    axes = new.axes or old.axes
    points = [
        np.unique([x for table in (old, new) if table.axes for x in table.axes[i].at])
        for i in range(len(axes))
    ]
    before, after = on_points(points, old), on_points(points, new)
    by = after - before
    told = np.isfinite(after) != np.isfinite(before)  # "?" on one side only
    raised = (np.nan_to_num(by) >= _LEAST_DEG) | told
    if not raised.any():
        return
    seen = [one for log in logs if (one := _seen(axes, points, log, name)) is not None]
    driven = reduce(np.logical_or, seen) if seen else None
    for index in map(tuple, np.argwhere(raised)):
        where = [quantity(float(p[i]), a.unit) for p, a, i in zip(points, axes, index, strict=True)]
        place = f"{called} at {', '.join(where)}" if where else called
        yield Raise(place, float(by[index]), None if driven is None else bool(driven[index]))


def _seen(
    axes: Sequence[Axis], points: Sequence[FloatArray], log: Driven, name: str | None
) -> BoolArray | None:
    """Which cells a log was nearest to; None where it lacks an input."""
    if name is not None and name not in log.active:
        return None
    rows = log.rows if name is None else log.rows & log.active[name]
    out = np.zeros(tuple(p.size for p in points), dtype=np.bool_)
    columns = [read(axis, log.inputs) for axis in axes]
    known = [column[rows] for column in columns if column is not None]
    if len(known) < len(columns):
        return None
    if not known:
        return np.asarray(rows.any())
    cells = np.stack([cell_of(p, column) for p, column in zip(points, known, strict=True)])
    out[tuple(cells[:, (cells >= 0).all(axis=0)])] = True
    return out
