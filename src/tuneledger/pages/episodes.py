"""The episodes on the page: a row for each, from scheduled to delivered."""

from tuneledger.ledger.model import Episode
from tuneledger.pages.names import correction_name, name_of
from tuneledger.pages.tag import Markup, tag
from tuneledger.statement import words
from tuneledger.statement.model import Statement
from tuneledger.wording import (
    count,
    degrees,
    instant,
    listing,
)


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
