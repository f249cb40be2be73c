"""The head of the page: headline, verdict, running revision, sums; complete without a script."""

import math

from tuneledger.explain.model import Running
from tuneledger.explain.nextstep import IF_MEANT, NO_LOAD, all_understood
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.tag import Markup, tag
from tuneledger.statement import facts, words
from tuneledger.statement.facts import called
from tuneledger.statement.model import Statement
from tuneledger.wording import (
    count,
    degrees,
    listing,
    number,
    seconds,
    share,
)


def head(statement: Statement) -> Markup:
    """Headline, verdict in words, and the sums."""
    word = statement.verdict[0].upper() + statement.verdict[1:]
    stop = (
        tag(
            "p",
            tag("b", "Stop."),
            f" Delivered stands above scheduled under load. {_until(statement)}",
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
        tag("p", tag("b", f"{word}: "), f"{facts.verdict_says(statement)}.", cls="verdict"),
        _sums(statement),
    )


def _until(statement: Statement) -> str:
    """Until when no load, by whether all that raises is what a sheet lists."""
    return IF_MEANT if all_understood(statement.causes) else NO_LOAD


def _sources(statement: Statement) -> list[str]:
    logs = [
        f"{name_of(a.log.file)} ({seconds(a.log.duration_s)}, {count(a.log.samples, 'sample')} at "
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
        where = words.regimes(most).replace(" %", "\N{NO-BREAK SPACE}%")
        items.append(("Largest", degrees(most.difference_deg), f"mean of an episode: {where}"))
        left = [e.unaccounted_deg for e in found if math.isfinite(e.unaccounted_deg)]
        worst = max(left, key=abs, default=None)
        items.append(("Unaccounted", degrees(worst), "at most, mean of an episode"))
    items.append(
        (
            "Judged beyond",
            f"±{number(statement.judged_beyond_deg, 2)}°",
            "and what lag and rounding allow",
        )
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
        but = facts.nearly(statement)
        return "Runs like", but or "none of the sheets", said
    more = f"certainty {share(running.certainty)}"
    if running.best_file != first or several:
        more += f"; {said}"
    if running.best_file == first and not running.matches_supplied:
        more += "; it does not account for all"
    if running.changed:
        return "Runs like", text_of(running.says.removeprefix("behaves like ")), more
    tied = [running.best_file, *running.twins]
    names = [
        name_of(called(statement, sheet.calibration.revision, sheet.file))
        for sheet in sorted(statement.sheets, key=lambda sheet: sheet.file != running.best_file)
        if sheet.file in tied
    ]
    return "Runs like", f"revision {listing(names, 'or')}", more
