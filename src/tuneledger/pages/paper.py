"""The statement as a page of text and tables, complete without any script."""

import math

from tuneledger.explain.model import Cause, Point, Running
from tuneledger.ledger.model import Episode
from tuneledger.pages.names import cause_name, correction_name, name_of, text_of
from tuneledger.pages.tag import Markup, join, tag
from tuneledger.statement import facts, words
from tuneledger.statement.facts import called
from tuneledger.statement.model import Statement
from tuneledger.wording import (
    count,
    degrees,
    instant,
    listing,
    number,
    seconds,
    sentence,
    share,
    time_span,
)

_AT_ONCE = 6  # causes shown before the fold
_CELLS = 12  # listed by name; the map shows all


def head(statement: Statement) -> Markup:
    """Headline, verdict in words, and the sums."""
    word = statement.verdict[0].upper() + statement.verdict[1:]
    stop = (
        tag(
            "p",
            tag("b", "Stop."),
            " Delivered stands above scheduled under load. No load until this is put right.",
            cls="stop",
            role="alert",
        )
        if statement.raised_under_load
        else Markup("")
    )
    return tag(
        "header",
        tag("p", "Statement of spark advance", cls="what"),
        tag("p", *_sources(statement), cls="sources"),
        tag("h1", text_of(statement.headline)),
        stop,
        tag("p", tag("b", f"{word}: "), f"{facts.VERDICTS[statement.verdict]}.", cls="verdict"),
        _sums(statement),
    )


def _sources(statement: Statement) -> list[str]:
    logs = [
        f"{name_of(a.log.file)} ({seconds(a.log.duration_s)}, {a.log.samples:,} rows at "
        f"{number(a.log.rate_hz, 3)} Hz)"
        for a in statement.logs
    ]
    sheets = [
        f"{name_of(s.file)} (revision {name_of(s.calibration.revision)})" for s in statement.sheets
    ]
    titles = dict.fromkeys(name_of(s.calibration.title) for s in statement.sheets)
    car = [tag("b", title) for title in titles if title][:1]
    words = [listing(logs), f"against {listing(sheets)}" if sheets else "no sheet was given"]
    return [*car, " · " if car else "", "; ".join(words)]


def _sums(statement: Statement) -> Markup:
    """The few numbers that somebody looks for first."""
    found = statement.episodes
    lasted = sum(e.end_s - e.start_s for e in found)
    total = sum(a.log.duration_s for a in statement.logs)
    items = [
        ("Differs for", f"{seconds(lasted)} of {seconds(total)}", count(len(found), "episode"))
    ]
    known = [e for e in found if math.isfinite(e.difference_deg)]
    if known:
        most = max(known, key=lambda e: abs(e.difference_deg))
        items.append(
            ("Largest", degrees(most.difference_deg), f"mean of an episode: {words.regimes(most)}")
        )
        left = [e.unaccounted_deg for e in found if math.isfinite(e.unaccounted_deg)]
        worst = max(left, key=abs, default=None)
        items.append(("Unaccounted", degrees(worst), "at most, mean of an episode"))
    items.append(
        ("Judged beyond", f"±{number(statement.tolerance_deg)}°", "and what lag and rounding allow")
    )
    if statement.running is not None:
        items.append(_runs(statement, statement.running))
    return tag(
        "dl",
        *(
            tag("div", tag("dt", name), tag("dd", tag("b", value), " ", tag("small", more)))
            for name, value, more in items
        ),
        cls="sums",
    )


def _runs(statement: Statement, running: Running) -> tuple[str, str, str]:
    first = statement.sheets[0].file if statement.sheets else None
    supplied = name_of(called(statement, running.supplied, first))
    several = len(statement.sheets) > 1
    said = f"{supplied} (first) is said to run"
    said = said if several else f"{supplied} was handed over"
    if len(running.unjudged) == len(statement.sheets):
        return "Runs like", "cannot be judged", said
    if running.best is None:
        return "Runs like", "none of the sheets", said
    more = f"certainty {share(running.certainty)}"
    if running.best_file != first or several:
        more += f"; {said}"
    best = name_of(called(statement, running.best, running.best_file))
    return "Runs like", f"revision {best}", more


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
    kind: str = cause.kind if cause.kind != name.lower() else ""
    if kind and cause.revision:
        whose = name_of(called(statement, cause.revision, cause.file))
        kind += f"{':' if 'revision' in kind else ' of revision'} {whose}"
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
            tag("p", tag("b", "Next: "), text_of(cause.next_step), cls="next")
            if cause.next_step
            else "",
            cls="words",
        ),
        tag(
            "p",
            tag("b", degrees(cause.degrees)),
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
    groups.append(
        ("Fits as well", [text_of(words.rule(rule, units)) for rule in cause.alternatives])
    )
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


def episodes(statement: Statement) -> Markup:
    """Every episode with its account."""
    if not statement.episodes:
        return Markup("")
    several = len(statement.logs) > 1
    heads = ["Episode", *(["Log"] if several else []), "From", "To", "Regime", "Scheduled"]
    heads += ["Entries", "Delivered", "Difference", "Unaccounted"]
    rows = [
        tag(
            "tr",
            tag("th", tag("button", str(i + 1), type="button"), scope="row"),
            *(tag("td", cell) for cell in _episode(statement, e, several)),
            data_episode=str(i),
        )
        for i, e in enumerate(statement.episodes)
    ]
    head = tag("thead", tag("tr", *(tag("th", text, scope="col") for text in heads)))
    return tag(
        "details",
        tag("summary", count(len(rows), "episode")),
        tag("div", tag("table", head, tag("tbody", *rows), cls="episodes"), cls="wide"),
        id="episodes",
        open=len(rows) <= 6,
    )


def _episode(statement: Statement, episode: Episode, several: bool) -> list[str]:
    entries = listing(
        f"{correction_name(e.correction, e.revision, statement)} {degrees(e.deg)}"
        for e in episode.entries
    )
    about = "map against log" if episode.about == "map" else ""
    return [
        *([name_of(statement.logs[episode.log].log.file)] if several else []),
        instant(episode.start_s),
        instant(episode.end_s),
        ", ".join(p for p in (words.regimes(episode), about, "expected" * episode.expected) if p),
        degrees(episode.scheduled_deg, signed=False),
        entries or "none",
        degrees(episode.delivered_deg, signed=False),
        degrees(episode.difference_deg),
        degrees(episode.unaccounted_deg),
    ]
