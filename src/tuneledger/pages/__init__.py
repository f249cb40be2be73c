"""The evidence page: a statement as one self-contained HTML file with figures."""

from collections.abc import Sequence

from tuneledger.arrays import FloatArray
from tuneledger.pages.causes import causes
from tuneledger.pages.data import page_data
from tuneledger.pages.document import FROM_DISK, Parts, document
from tuneledger.pages.episodes import episodes
from tuneledger.pages.foot import foot
from tuneledger.pages.glossary import glossary
from tuneledger.pages.names import name_of
from tuneledger.pages.pack import Packer
from tuneledger.pages.paper import head
from tuneledger.pages.shape import NotesData
from tuneledger.pages.tag import NOTHING, Markup, tag
from tuneledger.pages.visits import Grid, grid
from tuneledger.record import record
from tuneledger.statement.model import Statement

__all__ = ["Added", "served_page", "write_page"]

_KEYS = (
    ("← →", "one sample back or on, with Shift ten"),
    ("+ −", "closer, wider"),
    ("Page Up, Page Down", "earlier, later"),
    ("Home, End", "first, last sample"),
    ("n, p", "next, previous episode"),
    ("Space", "hold the slip, or let it go"),
    ("c", "copy the slip as text"),
    ("0", "the whole run"),
)


@record
class Added:
    """What a served page has beside the statement: over it, under the run, over its foot."""

    top: Markup = NOTHING
    run: Markup = NOTHING
    foot: Markup = NOTHING


def write_page(
    statement: Statement,
    *,
    notes: NotesData | None = None,
    rehearsed: Sequence[FloatArray | None] = (),
) -> str:
    """The complete HTML of a statement's page; it needs no other file and no network.

    notes:     what a reader has noted on causes
    rehearsed: delivered advance as a rehearsal has it, per row of each log's ledger
    Names from files appear as text only, control characters escaped. The same statement gives the
    same text.
    """
    return served_page(statement, FROM_DISK, Added(), notes, rehearsed)[0]


def served_page(
    statement: Statement,
    parts: Parts,
    added: Added,
    notes: NotesData | None,
    rehearsed: Sequence[FloatArray | None],
) -> tuple[str, str]:
    """The same with what a desk adds to it, and the content security policy to send along."""
    packer = Packer()
    cells = grid(statement)
    data = page_data(statement, cells, packer, notes, rehearsed)
    body = tag(
        "main",
        added.top,
        head(statement),
        tag(
            "section",
            tag("h2", "Causes"),
            causes(statement),
            tag("p", id="notes"),
            episodes(statement),
            id="causes",
        ),
        _run(statement),
        added.run,
        _map(cells),
        added.foot,
        foot(statement, roles=not added.foot),
    )
    title = ", ".join(name_of(account.log.file) for account in statement.logs)
    return document(f"{title}: spark advance", body, data, packer.base64(), parts)


def _run(statement: Statement) -> Markup:
    """Where the modules put strips and slip."""
    carried = "" if any(account.ledger for account in statement.logs) else "There is no ledger."
    keys = (tag("div", tag("dt", key), tag("dd", does)) for key, does in _KEYS)
    return tag(
        "section",
        tag("h2", "The run"),
        tag("noscript", tag("p", "The figures need a browser that runs scripts.", cls="none")),
        tag("p", carried, cls="none") if carried else "",
        tag("div", id="tools", role="toolbar", aria_label="Window"),
        tag("div", id="overview", cls="strip"),
        tag(
            "div",
            id="board",
            tabindex="0",
            role="application",
            aria_label="Strips over time. Arrow keys move the cursor; the slip below is read out.",
            aria_describedby="keys",
        ),
        tag(
            "div",
            tag("div", id="slip", role="group", aria_label="Slip: the account at the cursor"),
            tag("div", id="beside", role="group", aria_label="The other log's account"),
            id="slips",
        ),
        tag(
            "details",
            tag("summary", "Mouse, fingers and keys"),
            tag(
                "p",
                "Turn the wheel or pinch to zoom, drag to move along, double-click for the whole "
                "run. Point to read every strip at a sample; click to hold the slip there. On the "
                "focused strips:",
            ),
            tag("dl", *keys, cls="keys"),
            id="keys",
        ),
        glossary(),
        id="run",
    )


def _map(cells: Grid | None) -> Markup:
    if cells is None:
        return Markup("")
    words = (
        f"{cells.says} In each visited cell: mean difference of delivered from scheduled in "
        "degrees, and how long the run was there (also as a bar). Blue and − is below scheduled, "
        "orange and + above it."
    )
    return tag(
        "section",
        tag("h2", "The map and its visits"),
        tag("p", words, cls="explains"),
        tag("div", id="map"),
        id="visits",
    )
