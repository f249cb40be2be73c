"""Conditions: one comparison each, a release on the right side, only earlier corrections named."""

from collections.abc import Iterator

from tuneledger.calibrations.nearest import did_you_mean
from tuneledger.calibrations.rules.readings import misspelt, reading
from tuneledger.calibrations.rules.scope import Scope
from tuneledger.calibrations.tree import Spot, plain, quoted
from tuneledger.errors import Fault
from tuneledger.wording import listing

COMPARISONS = ("above", "below", "between", "is")


def condition(spot: Spot, scope: Scope) -> Iterator[Fault]:
    """A condition of any kind; what is not a table of keys is left to the model."""
    if not spot.is_part:
        return
    if "any" in spot:
        for inner in spot["any"]:
            yield from condition(inner, scope)
    elif "correction" in spot:
        yield from _earlier(spot["correction"], scope)
    else:
        yield from reading(spot, scope)
        yield from _comparison(spot)


def _earlier(named: Spot, scope: Scope) -> Iterator[Fault]:
    name = named.text
    if name is None or name in scope.earlier:
        return
    if name in scope.all:
        here = "is this correction itself" if name == scope.own else "comes later"
        expected = "one that stands earlier in the sheet"
        yield named.fault(f"{quoted(name)} {here}", expected)
    else:
        do = did_you_mean(name, scope.all, "There are") if scope.all else None
        yield named.fault(f"no correction {quoted(name)}", do=do)


def _comparison(spot: Spot) -> Iterator[Fault]:
    given = tuple(name for name in COMPARISONS if name in spot)
    if not given and not misspelt(spot, COMPARISONS):
        yield spot.fault("compares with nothing", f"one of {listing(COMPARISONS, 'or')}")
    if len(given) > 1:
        yield spot.fault(
            f"compares with {listing(given)} at once",
            "one comparison in each condition",
            "Write two conditions: all in the list must be true.",
        )
    yield from in_order(spot["between"])
    yield from _release(spot, given)


def _release(spot: Spot, given: tuple[str, ...]) -> Iterator[Fault]:
    if "release" not in spot:
        return
    release = spot["release"]
    if not {"above", "below"} & set(given):
        yield release.fault("release without above or below", "a threshold to be released from")
        return
    name = "above" if "above" in given else "below"
    threshold, back = spot[name].number, release.number
    if threshold is None or back is None:
        return
    wrong = back > threshold if name == "above" else back < threshold
    if wrong:
        side = "at most" if name == "above" else "at least"
        found = f"release at {plain(back)}, {name} {plain(threshold)}"
        yield release.fault(found, f"a release of {side} {plain(threshold)}")


def in_order(pair: Spot) -> Iterator[Fault]:
    """Two numbers of which the first is not above the second."""
    numbers = [item.number for item in pair]
    if len(numbers) == 2 and None not in numbers and numbers[0] > numbers[1]:  # type: ignore[operator]
        low, high = (plain(number) for number in numbers if number is not None)
        yield pair.fault(f"{low} is above {high}", "the lower number first")
