"""Corrections: ids, what each effect needs, and what goes only with some."""

from collections.abc import Iterator

from tuneledger.calibrations.rules.conditions import condition, in_order
from tuneledger.calibrations.rules.scope import Scope
from tuneledger.calibrations.rules.tables import cells, has_numbers, table
from tuneledger.calibrations.tree import Spot, plain, quoted
from tuneledger.errors import Fault

TAKEN = ("limit", "other-map")  # entries of the ledger that no correction posts
TAKEN_PREFIX = "rule-"
NUMBERS = "axes and values, or an amount"


def correction(spot: Spot, scope: Scope) -> Iterator[Fault]:
    """One correction, in the scope of those that stand before it."""
    yield from _id(spot["id"], scope)
    yield from table(spot, scope)
    yield from _effect(spot)
    yield from _weight(spot, scope)
    for item in spot["when"]:
        yield from condition(item, scope)
    yield from condition(spot["until"], scope)
    yield from in_order(spot["range"])


def _id(spot: Spot, scope: Scope) -> Iterator[Fault]:
    name = spot.text
    if not name:
        return
    if name.casefold() in TAKEN or name.casefold().startswith(TAKEN_PREFIX):
        taken = f"{', '.join(TAKEN)} and {TAKEN_PREFIX}… are taken by the ledger"
        yield spot.fault(f"the id {quoted(name)} is taken", do=f"Choose another: {taken}.")
    if name in scope.earlier:
        first = scope.earlier.index(name)
        yield spot.fault(
            f"the id {quoted(name)} stands twice, first at spark.correction[{first}]",
            do="Give one of them another id.",
        )
    if name != name.strip() or not name.isprintable():
        yield spot.fault("the id has spaces at an end, or signs that cannot be seen", "a plain id")
    elif not (name[0].isalnum() or name[0] == "_"):
        # it heads a column of the ledger, which a spreadsheet may take for a formula
        found = f"the id {quoted(name)} begins with {quoted(name[0])}"
        yield spot.fault(found, "a letter, a digit or _ at its beginning")


def _effect(spot: Spot) -> Iterator[Fault]:
    effect = spot["effect"].text or "add"
    numbers = has_numbers(spot)
    if effect != "add" and not numbers:
        yield spot.fault(f"effect {quoted(effect)} without a number", NUMBERS)
    if effect != "add" and "ramp" in spot:
        yield spot["ramp"].fault(f"ramp on effect {quoted(effect)}", 'ramp only on effect "add"')
    if effect == "add" and not (numbers or "logged_as" in spot or "range" in spot):
        unknown = "or logged_as or range for what the ECU works out itself"
        yield spot.fault("neither a table nor an amount", f"{NUMBERS}, {unknown}")


def _weight(spot: Spot, scope: Scope) -> Iterator[Fault]:
    weight = spot["weight"]
    if "weight" not in spot:
        return
    effect = spot["effect"].text or "add"
    if effect != "base":
        yield weight.fault(f"weight on effect {quoted(effect)}", 'weight only on effect "base"')
    if weight.is_part and not has_numbers(weight):
        yield weight.fault("a weight without a number", NUMBERS)
    yield from table(weight, scope)
    for share in (weight["amount"], *cells(weight["values"])):
        if share.number is not None and not 0 <= share.number <= 1:
            yield share.fault(f"a weight of {plain(share.number)}", "a share from 0 to 1")
