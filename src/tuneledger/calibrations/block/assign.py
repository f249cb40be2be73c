"""Which axis of a pasted block is which reading of the sheet: every way it can be, best first.

Evidence is what stands beside the numbers (units, words), the axes that the sheet has there now
(their points, their span), and the span that a signal can have. What this cannot tell, a log can:
see `tuneledger sheet table --log`.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import permutations
from typing import Any

from tuneledger.calibrations.block.fitting import (
    RawAxis,
    fitted,
    guess,
    name,
    possible,
    score,
    shows,
    told,
)
from tuneledger.calibrations.block.model import Block, Edge, Value
from tuneledger.errors import Fault, SheetError
from tuneledger.record import record
from tuneledger.wording import listing

LIKELY = 0.5  # of the points of an axis
CLEAR = 1.0  # by how much the best way must lead to be taken without asking


@record
class Placed:
    """One way to put a block into the sheet: its axes as raw readings with points, its values.

    score: against another way's, how much more likely this one is
    says:  the way in words
    likely: whether its points lie for the most part where its signals can be
    shown: whether units, words or points of the block itself speak for each of its axes
    """

    axes: tuple[RawAxis, ...]
    values: tuple[Any, ...]
    score: float
    says: str
    likely: bool = True
    shown: bool = True


def assign(
    block: Block,
    now: Sequence[RawAxis],
    *,
    down: RawAxis | None = None,
    across: RawAxis | None = None,
    others: Sequence[RawAxis] = (),
) -> list[Placed]:
    """Every way in which a block can stand in a place, the likeliest first.

    now:          the axes that the place has, as raw readings with their points; may be empty
    down, across: what the axes of the block read, where the user said it
    others:       what else they may read, where nobody said it and a log will decide

    Raises SheetError where no way is left, or where it is not known what an axis reads.
    """
    if block.across is None:
        return _into_the_axes(block, now)
    if block.down is None:
        return [_along(block.across, block.values[0], _single(block.across, now, across or down))]
    pairs = _pairs(block, now, down, across)
    more = [] if down or across else _more_pairs(now, others)
    ways = list(_ways(block, now, pairs))
    # what the place does not have is no rival of what it has, unless a log says so
    others_too = (replace(way, score=way.score - 4.0 * CLEAR) for way in _ways(block, now, more))
    ways += (way for way in others_too if way.likely)
    if not ways:
        raise SheetError(
            Fault(
                "the units of the block fit no axis here",
                do="Say what the axes read with --down and --across.",
            )
        )
    return sorted(ways, key=lambda way: -way.score)


def is_clear(ways: Sequence[Placed]) -> bool:
    """Whether the first way stands out so far that nobody need be asked."""
    return len(ways) == 1 or ways[0].score - ways[1].score >= CLEAR


def shape_of(axes: Sequence[RawAxis]) -> tuple[int, ...] | None:
    """How many points each axis of a table has; None without axes."""
    counts = [axis.get("at") for axis in axes]
    sound = counts and all(isinstance(points, list | tuple) and points for points in counts)
    return tuple(len(points) for points in counts if points) if sound else None


def _into_the_axes(block: Block, now: Sequence[RawAxis]) -> list[Placed]:
    """Values without axes of their own, in the shape of the table that is there, or turned."""
    shape = shape_of(now)
    size = (len(block.values), len(block.values[0]))
    axes = tuple(dict(axis) for axis in now)
    if shape == size[1:] and size[0] == 1:
        return [Placed(axes, block.values[0], 0.0, "values for the axis that is there")]
    ways = []
    if shape == size:
        says = "values for the axes that are there"
        ways.append(Placed(axes, block.values, 0.0, says))
    if shape == size[::-1]:
        turned = tuple(zip(*block.values, strict=True))
        ways.append(Placed(axes, turned, -CLEAR, "values for the axes that are there, turned"))
    if not ways:
        there = " by ".join(str(n) for n in shape) if shape else "no table"
        raise SheetError(
            Fault(
                f"values of {size[0]} by {size[1]} without axes, where the sheet has {there}",
                do="Paste the table together with its axes.",
            )
        )
    return ways


def _single(edge: Edge, now: Sequence[RawAxis], said: RawAxis | None) -> RawAxis:
    if said is not None:
        return said
    if len(now) == 1:
        return now[0]
    guessed = guess(edge)
    if guessed is None:
        do = "Say it with --across, as SIGNAL [unit]."
        raise SheetError(Fault("it does not show what the axis reads", do=do))
    return guessed


def _along(edge: Edge, values: tuple[Value, ...], axis: RawAxis) -> Placed:
    fits = fitted(edge, axis, ())
    if fits is None:
        found = f"an axis in {edge.unit}, where the sheet reads {name(axis)}"
        do = "Say what the axis reads with --across, as SIGNAL [unit]."
        raise SheetError(Fault(found, do=do))
    return Placed((fits,), values, 0.0, f"along {told(fits)}", shown=shows(edge, fits, axis))


def _ways(
    block: Block, now: Sequence[RawAxis], pairs: Iterable[tuple[RawAxis, RawAxis]]
) -> Iterator[Placed]:
    if block.down is None or block.across is None:
        return
    for first, second in pairs:
        rows = fitted(block.down, first, block.units)
        columns = fitted(block.across, second, block.units)
        if rows is None or columns is None:
            continue
        sure = score(block.down, rows, first) + score(block.across, columns, second)
        says = f"down {told(rows)}, across {told(columns)}"
        likely = min(possible(block.down, rows), possible(block.across, columns)) >= LIKELY
        shown = shows(block.down, rows, first) and shows(block.across, columns, second)
        if len(now) == 2 and first is now[1]:
            values = tuple(zip(*block.values, strict=True))
            yield Placed((columns, rows), values, sure, says, likely, shown)
        else:
            yield Placed((rows, columns), block.values, sure, says, likely, shown)


def _pairs(
    block: Block, now: Sequence[RawAxis], down: RawAxis | None, across: RawAxis | None
) -> list[tuple[RawAxis, RawAxis]]:
    """Which readings may stand down and across; a reading of the place is kept as it is there."""
    here = list(now) if len(now) == 2 else []
    first, second = _kept(down, here), _kept(across, here)
    if first is None and second is None and here:
        return [(here[0], here[1]), (here[1], here[0])]
    if first is not None and second is None and here:
        return [(first, other) for other in here if other is not first]
    if second is not None and first is None and here:
        return [(other, second) for other in here if other is not second]
    first = first or (guess(block.down) if block.down else None)
    second = second or (guess(block.across) if block.across else None)
    if first is None or second is None:
        options = [
            option for option, known in (("--down", first), ("--across", second)) if not known
        ]
        do = f"Say it with {listing(options)}, as SIGNAL [unit]."
        raise SheetError(Fault("it does not show what the axes read", do=do))
    return [(first, second)]


def _more_pairs(now: Sequence[RawAxis], others: Sequence[RawAxis]) -> list[tuple[RawAxis, RawAxis]]:
    """Pairs with one reading that the place does not have."""
    here = [name(axis) for axis in now]
    new = [axis for axis in others if name(axis) not in here]
    pairs = permutations([*now, *new], 2)
    return [pair for pair in pairs if any(reading in new for reading in pair)]


def _kept(said: RawAxis | None, here: Sequence[RawAxis]) -> RawAxis | None:
    """The reading that the place has under the name that the user gave, else what the user gave."""
    if said is None:
        return None
    same = [axis for axis in here if name(axis) == name(said)]
    return same[0] if same and "unit" not in said else said
