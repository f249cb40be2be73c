"""Which of a statement's causes are so: each is matched with the true ones."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

NAMED = ("correction", "other revision", "replacement")


@dataclass(frozen=True, slots=True)
class Claim:
    """One cause that a statement gives (one of kind `unknown` claims nothing and is left out).

    right: it is a true cause that no better-ranked one has already told
    says: the cause in a few words; why: what is wrong with it
    holds: of a hidden rule, whether what is said of it predicts another drive; else True
    """

    kind: str
    certainty: float
    right: bool
    says: str
    why: str = ""
    holds: bool = True


def claims(truth: Mapping[str, Any], statement: Mapping[str, Any]) -> Iterator[Claim]:
    """Every claim of a statement, in the order of its ranks."""
    told: set[int] = set()
    for cause in ranked(statement):
        if cause["kind"] == "unknown":
            continue
        fits = [i for i, true in enumerate(truth["causes"]) if mismatch(cause, true) is None]
        # A correction may come back in several causes; a rule told twice is a rule too many.
        fresh = [i for i in fits if i not in told or cause["kind"] in NAMED]
        if fresh:
            told.add(fresh[0])
        why = "" if fresh else _wrong(cause, truth, bool(fits))
        yield Claim(cause["kind"], float(cause["certainty"]), bool(fresh), name(cause), why)


def first_cause(truth: Mapping[str, Any], statement: Mapping[str, Any]) -> tuple[bool | None, str]:
    """Whether the cause of rank 1 is one that may rightly stand there. None: the case has none."""
    main = [true for true in truth["causes"] if true["main"]]
    if not main:
        return None, ""
    given = ranked(statement)
    if not given:
        return False, f"no cause given, right is {_right(main)}"
    faults = [mismatch(given[0], true) for true in main]
    if None in faults:
        return True, ""
    return False, f"said {name(given[0])}, right is {_right(main)} ({faults[0]})"


def mismatch(cause: Mapping[str, Any], true: Mapping[str, Any]) -> str | None:
    """What keeps a cause from being this true one; None where it is."""
    if cause["kind"] not in true["accept_kinds"]:
        return f"kind '{cause['kind']}'"
    if cause["kind"] in NAMED and true["correction"] is not None:
        if cause["correction"] != true["correction"]:
            return f"correction '{cause['correction']}'"
        if cause["kind"] == "other revision" and cause["revision"] != true["revision"]:
            return f"revision {cause['revision']}"
    if cause["degrees"] * true["degrees"] < 0 and abs(true["degrees"]) > 1.0:
        return f"{cause['degrees']:+.1f}° where it is {true['degrees']:+.1f}°"
    return None


def ranked(statement: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return sorted(statement["causes"], key=lambda cause: cause["rank"])


def name(cause: Mapping[str, Any]) -> str:
    """A cause in a few words."""
    parts = [f"{cause['kind']}"]
    if cause.get("correction"):
        parts.append(f"'{cause['correction']}'")
    if cause.get("revision"):
        parts.append(f"of {cause['revision']}")
    if cause.get("rule"):
        parts.append(f"({describe(cause['rule'])})")
    return " ".join(parts)


def describe(rule: Mapping[str, Any]) -> str:
    """A rule in one line, as far as a table has room for it."""
    when = " and ".join(_condition(part) for part in rule.get("when") or ()) or "always"
    if rule.get("along"):
        return f"along {rule['along']['channel']!r} when {when}"
    return f"{rule.get('amount_deg', 0.0):+.1f}° when {when}"


def _condition(part: Mapping[str, Any]) -> str:
    if "any" in part:
        return "(" + " or ".join(_condition(one) for one in part["any"]) + ")"
    what = f"since({_condition(part['since'])})" if part.get("since") else repr(part.get("channel"))
    tests = (f"{word} {part[word]}" for word in ("above", "below", "between", "is") if word in part)
    return " ".join((what, *tests))


def _right(main: list[Mapping[str, Any]]) -> str:
    kinds = (
        "/".join(true["accept_kinds"]) + (f" '{true['correction']}'" if true["correction"] else "")
        for true in main
    )
    return " or ".join(kinds)


def _wrong(cause: Mapping[str, Any], truth: Mapping[str, Any], told: bool) -> str:
    if told:
        return "told already by a cause before it"
    if not truth["causes"]:
        return "nothing is wrong in this case"
    return f"not among {_right(list(truth['causes']))}"
