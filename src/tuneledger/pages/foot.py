"""What stands under the statement: what would help, notes, the fit, the channels, the cautions."""

from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.tag import Markup, table, tag
from tuneledger.statement import facts, words
from tuneledger.statement.model import LogAccount, Statement
from tuneledger.wording import degrees, sentence, share, unit_words

_CAUTIONS = (
    "Too much advance can destroy an engine by detonation within seconds; too much retard "
    "overheats exhaust, valves and turbocharger.",
    "Change in small steps, with knock and exhaust temperature watched, on a dynamometer or a "
    "closed course, by someone qualified.",
    "With a timing light, keep clear of rotating parts, hot surfaces and ignition voltage.",
    "Vehicles for public roads must keep to the local rules for emissions and safety.",
    "The numbers are the ECU's own report: that they agree does not mean that the crank was "
    "checked, or that the timing is safe. This page advises; it changes nothing in any ECU.",
)


def foot(statement: Statement, *, roles: bool = True) -> Markup:
    """What would help, what was noticed, which revision fits, which channel is which; cautions.

    roles: False where the page shows elsewhere which channel is which
    """
    accounts = statement.logs if roles else ()
    return tag(
        "footer",
        _listed("Loading the supplied revision", words.loading(statement)),
        _listed("What would help", [f"{n.what}: {n.why}" for n in statement.needs]),
        _listed("About the log", list(statement.notes)),
        _ranking(statement),
        *(_roles(account, len(statement.logs) > 1) for account in accounts),
        _listed("Cautions", _cautions(statement), cls="cautions"),
    )


def _cautions(statement: Statement) -> list[str]:
    """All of them, whatever was found; and what the other revision would change besides."""
    return [*_CAUTIONS, *words.cautions(statement)[1:]]


def _listed(title: str, texts: list[str], cls: str | None = None) -> Markup:
    if not texts:
        return Markup("")
    items = (tag("li", sentence(text_of(text))) for text in texts)
    return tag("section", tag("h2", title), tag("ul", *items), cls=cls)


def _ranking(statement: Statement) -> Markup:
    running = statement.running
    if running is None or not running.ranking:
        return Markup("")
    rows = [
        [name_of(r.revision), name_of(r.file), degrees(r.misfit_deg, 2, signed=False)]
        for r in running.ranking
    ]
    return tag(
        "section",
        tag("h2", "Which revision fits"),
        tag("p", sentence(text_of(facts.running(statement)))),
        table(["Revision", "File", "Leaves (rms)"], rows),
    )


def _roles(account: LogAccount, several: bool) -> Markup:
    roles = account.roles.by_signal.values()
    if not roles:
        return Markup("")
    rows = [
        [
            role.signal,
            name_of(role.channel.name),
            unit_words(role.unit) or "none",
            share(role.certainty),
            text_of("; ".join(role.why)),
        ]
        for role in roles
    ]
    title = "How the channels were read"
    if several:
        title += f": {name_of(account.log.file)}"
    heads = ["Signal", "Channel", "Read in", "Certainty", "Because of"]
    return tag(
        "section",
        tag("details", tag("summary", title), tag("div", table(heads, rows), cls="wide")),
    )
