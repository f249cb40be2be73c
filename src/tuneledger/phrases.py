"""Conditions as people say them: what holds, and when something acts.

They come in the sheet's form, from a sheet or from a rule; a rule's numbers are in its channels'
own units, which the log knows.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from tuneledger.wording import listing, number, quantity, seconds, unit_words


def condition(terms: Mapping[str, Any], unit: str | None = None) -> str:
    """A condition in the sheet's form as a phrase: `Throttle above 55 %`, `Wet switch is on`.

    unit: the unit of the channel, where the condition itself names none
    """
    return _condition(terms, unit, "")


def conditions(when: Iterable[Mapping[str, Any]], units: Mapping[str, str] | None = None) -> str:
    """All of the conditions in one phrase; `always` where there are none.

    units: channel name → unit, for conditions that name none
    """
    phrases = [condition(terms, _unit_of(terms, units)) for terms in when]
    return listing(phrases) if phrases else "always"


def acting(when: Iterable[Mapping[str, Any]], units: Mapping[str, str] | None = None) -> str:
    """When something acts, to follow a verb; empty where it always does.

    `while Throttle is above 55 % and Wet switch is 1`; `for 1.5 s after Pass button goes to 0`.
    """
    timed, held = [], []
    for terms in when:
        if "since" in terms:
            timed.append(_time_after(terms, units))
        else:
            held.append(_condition(terms, _unit_of(terms, units), "is "))
    return ", ".join([*timed, f"while {listing(held)}"] if held else timed)


def _unit_of(terms: Mapping[str, Any], units: Mapping[str, str] | None) -> str | None:
    return (units or {}).get(str(terms.get("channel")))


def _condition(terms: Mapping[str, Any], unit: str | None, verb: str) -> str:
    """verb: what stands before a comparison with a number, "is " or nothing"""
    if "any" in terms:
        return listing((_condition(t, None, verb) for t in terms["any"]), "or")
    if "correction" in terms:
        return f"'{terms['correction']}' is active"
    if "since" in terms:
        return _time_since(terms)
    unit = terms.get("unit") or unit
    return f"{_reading(terms, unit)} {_comparison(terms, unit, verb)}{_timing(terms)}"


def _time_since(terms: Mapping[str, Any]) -> str:
    """`less than 2 s since Button went off`."""
    began = _turned(terms["since"], None, ("went", "became"))
    if "below" in terms:
        return f"less than {number(terms['below'])} s since {began}{_timing(terms)}"
    if "above" in terms:
        return f"more than {number(terms['above'])} s since {began}{_timing(terms)}"
    low, high = terms.get("between") or (terms.get("is"),) * 2
    return f"{_from_to(low, high)} s since {began}{_timing(terms)}"


def _time_after(terms: Mapping[str, Any], units: Mapping[str, str] | None) -> str:
    """`for 2 s after Button goes off`."""
    began = _turned(terms["since"], _unit_of(terms["since"], units), ("goes", "becomes"))
    if "below" in terms:
        return f"for {number(terms['below'])} s after {began}{_timing(terms)}"
    if "above" in terms:
        return f"from {number(terms['above'])} s after {began} on{_timing(terms)}"
    low, high = terms.get("between") or (terms.get("is"),) * 2
    return f"from {_from_to(low, high)} s after {began}{_timing(terms)}"


def _from_to(low: Any, high: Any) -> str:
    return number(low) if low == high else f"{number(low)} to {number(high)}"


def _turned(terms: Mapping[str, Any], unit: str | None, verbs: tuple[str, str]) -> str:
    """A condition as it turns true: `Button goes to 0`, `Throttle went above 55 %`."""
    goes, becomes = verbs
    if "any" in terms:
        return listing((_turned(t, None, verbs) for t in terms["any"]), "or")
    if "correction" in terms:
        return f"'{terms['correction']}' {becomes} active"
    if "since" in terms:
        return _time_since(terms)
    unit = terms.get("unit") or unit
    name, state = _reading(terms, unit), terms.get("is")
    if isinstance(state, int | float):
        return f"{name} {goes} to {quantity(state, unit)}{_timing(terms)}"
    if "between" in terms:
        return f"{name} {becomes} {_bounds(terms['between'], unit)}{_timing(terms)}"
    return f"{name} {goes} {state or _comparison(terms, unit, '')}{_timing(terms)}"


def _reading(terms: Mapping[str, Any], unit: str | None) -> str:
    name = str(terms.get("channel") or terms.get("signal") or "a reading")
    if terms.get("minus"):
        name = f"{name} minus {terms['minus']}"
    if terms.get("over"):
        name = f"{name} over {terms['over']}"
    if terms.get("rate"):
        per = f"{unit_words(unit)} " if unit else ""
        name = f"change of {name} in {per}per second"
    return name


def _comparison(terms: Mapping[str, Any], unit: str | None, verb: str) -> str:
    if terms.get("rate"):
        unit = None
    if "above" in terms:
        return f"{verb}above {quantity(terms['above'], unit)}"
    if "below" in terms:
        return f"{verb}below {quantity(terms['below'], unit)}"
    if "between" in terms:
        return verb + _bounds(terms["between"], unit)
    state = terms.get("is")
    if state in ("on", "off"):
        return f"is {state}"
    return f"is {quantity(state, unit)}" if isinstance(state, int | float) else "holds"


def _bounds(between: Any, unit: str | None) -> str:
    low, high = between
    return f"from {number(low)} to {quantity(high, unit)}"


def _timing(terms: Mapping[str, Any]) -> str:
    parts = []
    if terms.get("release") is not None:
        back = "below" if "above" in terms else "above"
        parts.append(f"until {back} {number(terms['release'])} again")
    if terms.get("held"):
        parts.append(f"for {seconds(terms['held'])} or longer")
    if terms.get("linger"):
        parts.append(f"and {seconds(terms['linger'])} after")
    return "".join(f" {part}" for part in parts)
