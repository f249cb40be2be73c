"""The whole sheet: the map, the limits, the corrections in their order, what scheduled includes."""

from collections.abc import Iterator

from tuneledger.calibrations.nearest import did_you_mean
from tuneledger.calibrations.rules.corrections import correction
from tuneledger.calibrations.rules.scope import Scope
from tuneledger.calibrations.rules.tables import has_numbers, table
from tuneledger.calibrations.tree import Spot, plain, quoted
from tuneledger.errors import Fault


def sheet(root: Spot) -> Iterator[Fault]:
    """Every fault that concerns more than one key, in the order of the sheet."""
    spark = root["spark"]
    corrections = tuple(spark["correction"])
    ids = tuple(item["id"].text or "" for item in corrections)
    yield from _limits(spark["limits"])
    yield from _limits(root["audit"]["band"])
    yield from _includes(spark["scheduled_includes"], ids)
    if spark["map"].is_part and not has_numbers(spark["map"]):
        yield spark["map"].fault("a map without numbers", "axes and values, or an amount")
    yield from table(spark["map"], Scope(all=ids))
    for index, item in enumerate(corrections):
        yield from correction(item, Scope(ids[:index], ids[index], ids))


def _limits(limits: Spot) -> Iterator[Fault]:
    lowest, highest = limits["lowest"].number, limits["highest"].number
    if lowest is not None and highest is not None and lowest > highest:
        yield limits.fault(f"lowest {plain(lowest)} is above highest {plain(highest)}")


def _includes(included: Spot, ids: tuple[str, ...]) -> Iterator[Fault]:
    known = tuple(name for name in ids if name)
    for item in included:
        if item.text is not None and item.text not in known:
            do = did_you_mean(item.text, known, "There are") if known else None
            yield item.fault(f"no correction {quoted(item.text)}", do=do)
