"""The causes on the page: degrees, seconds, evidence, what speaks for and against, what next."""

import math

from tuneledger.explain.model import Cause, Point
from tuneledger.ledger.model import Episode
from tuneledger.pages.names import cause_name, name_of, text_of
from tuneledger.pages.tag import Markup, join, tag
from tuneledger.statement import rivals, words
from tuneledger.statement.facts import called
from tuneledger.statement.model import Statement
from tuneledger.wording import (
    count,
    listing,
    seconds,
    sentence,
    share,
    time_span,
)

_AT_ONCE = 6  # causes shown before the fold
_CELLS = 12  # listed by name; the map shows all


def causes(statement: Statement) -> Markup:
    """The causes in rank, each with its degrees, seconds, evidence and next step."""
    items = [_cause(statement, i) for i in range(len(statement.causes))]
    if not items:
        nothing = "There is nothing to explain."
        missing = "No cause can be named from what was handed over."
        found = missing if statement.verdict == "cannot tell" else nothing
        return tag("p", found, cls="none")
    first, rest = items[:_AT_ONCE], items[_AT_ONCE:]
    folded = (
        tag("details", tag("summary", count(len(rest), "more cause")), tag("ol", *rest))
        if rest
        else Markup("")
    )
    return join(tag("ol", *first, cls="causes"), folded)


def _cause(statement: Statement, index: int) -> Markup:
    cause = statement.causes[index]
    name = cause_name(cause, statement)
    kind: str = cause.kind if cause.kind != name.lower().partition(",")[0] else ""
    if kind and cause.revision:
        whose = name_of(called(statement, cause.revision, cause.file))
        kind += f"{':' if 'revision' in kind else ' of revision'} {whose}"
    label, step = words.next_step(cause)
    marks = [kind, "expected" if cause.expected else ""]
    return tag(
        "li",
        tag(
            "div",
            tag(
                "h3",
                tag(
                    "button",
                    tag("span", str(cause.rank), cls="rank"),
                    tag("span", name),
                    type="button",
                ),
                tag("small", ", ".join(mark for mark in marks if mark)),
            ),
            tag("p", sentence(text_of(cause.says)), cls="says"),
            tag("p", tag("b", f"{label}: "), text_of(step), cls="next") if cause.next_step else "",
            cls="words",
        ),
        tag(
            "p",
            tag("b", words.amount(cause)),
            tag("small", _way(cause, statement)),
            cls="figure",
        ),
        tag("p", tag("b", seconds(cause.seconds)), tag("small", "in all"), cls="figure"),
        tag("p", tag("b", share(cause.certainty)), tag("small", "certainty"), cls="figure"),
        tag("div", *_evidence(statement, cause), cls="more"),
        cls="cause",
        data_cause=str(index),
    )


def _way(cause: Cause, statement: Statement) -> str:
    """In a word, what was done and how one knows: `taken, computed`."""
    known = words.evidence(cause, statement)
    basis = "no evidence yet" if known == words.NO_EVIDENCE else known
    if cause.span is not None:
        return f"both ways, {basis}"
    if not math.isfinite(cause.degrees) or abs(cause.degrees) < 0.05:
        return basis
    return f"{'added' if cause.degrees > 0 else 'taken'}, {basis}"


def _evidence(statement: Statement, cause: Cause) -> list[Markup]:
    groups = [
        ("Speaks for it", [_point(p) for p in cause.evidence if p.speaks == "for"]),
        ("Speaks against it", [_point(p) for p in cause.evidence if p.speaks == "against"]),
    ]
    units = words.units(statement)
    if cause.rule is not None:
        groups.insert(0, ("The rule", [text_of(words.rule(cause.rule, units))]))
    if cause.cells:
        title = "Cells of the map" if cause.kind == "other map" else "Open cells"
        groups.append((title, [words.cells(cause, statement, _CELLS)]))
    groups.append(("Fits as well", [text_of(fits) for fits in rivals.groups(cause, units)]))
    groups.append(("Acts in", _when(_of(statement, cause))))
    return [
        tag("section", tag("h4", title), tag("ul", *(tag("li", text) for text in texts)))
        for title, texts in groups
        if texts
    ]


def _of(statement: Statement, cause: Cause) -> list[Episode]:
    return [statement.episodes[i] for i in cause.episodes if i < len(statement.episodes)]


def _when(found: list[Episode]) -> list[str]:
    """The episodes as one line, however many there are."""
    spans = [time_span(e.start_s, e.end_s) for e in found[:4]]
    if len(found) > 4:
        spans.append(count(len(found) - 4, "more episode"))
    return [listing(spans)] if spans else []


def _point(point: Point) -> str:
    return sentence(text_of(point.says))
