"""What a page calls things: corrections by their title, entries by where they come from."""

from collections.abc import Iterator

from tuneledger.explain.model import RATE, Cause, Rule
from tuneledger.ledger.model import Entry
from tuneledger.phrases import conditions
from tuneledger.statement import words
from tuneledger.statement.model import LogAccount, Statement, SuppliedSheet
from tuneledger.wording import listing, visible

LONGEST = 80  # of a name, in characters
_LONGEST_TEXT = 800  # of a sentence
_OURS = {
    "limit": "Limits",
    "other-map": "Another map",
    "idle-governor": "Idle governor",
    RATE: "Limit on how fast it moves",
}


def name_of(text: str) -> str:
    """A name from somebody's file, on one line: hidden characters escaped, an endless one cut."""
    return _cut(visible(text[: 2 * LONGEST]), LONGEST)


def text_of(text: str) -> str:
    """A sentence, which may quote such a name."""
    return _cut(visible(text[: 2 * _LONGEST_TEXT]), _LONGEST_TEXT)


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def correction_name(
    correction: str, revision: str | None, statement: Statement, file: str | None = None
) -> str:
    """The title that its sheet gives it; for our own ids plain words; else the id as words.

    file: the sheet's, where it is known: two may bear the same revision
    """
    own = statement.sheet(file)
    for sheet in [own] if own else statement.sheets:
        found = sheet.calibration.spark.find(correction)
        told = revision in (None, sheet.calibration.revision)
        if found is not None and found.title and told:
            return name_of(found.title)
    if correction in _OURS:
        return _OURS[correction]
    if correction.startswith("rule-"):
        return _rule_name(correction, statement)
    spelled = name_of(correction).replace("-", " ").strip()
    return spelled[:1].upper() + spelled[1:]


def _rule_name(entry: str, statement: Statement) -> str:
    """A rule read out of the log by what it goes by: `Rule 1, on Inlet temp and Wet switch`."""
    cause = _of_entry(entry, statement)
    if cause is not None and cause.expected:
        return _OURS["idle-governor"]  # the one rule that a log alone shows to be ordinary
    number = name_of(entry[5:])
    names = [*_channels(cause.rule)] if cause is not None and cause.rule is not None else []
    shown = [name_of(name) for name in dict.fromkeys(names)]
    return f"Rule {number}, on {listing(shown[:3])}" if shown else f"Rule {number}"


def _of_entry(entry: str, statement: Statement) -> Cause | None:
    return next((cause for cause in statement.causes if cause.entry == entry), None)


def _channels(rule: Rule) -> Iterator[str]:
    """The channels that a rule reads, as the log calls them."""
    if rule.along is not None:
        yield rule.along.channel
    for condition in rule.when:
        for inner in (condition, *condition.get("any", ())):
            yield from (str(inner[key]) for key in ("channel", "minus", "over") if inner.get(key))


def entry_words(posted: Entry, statement: Statement) -> str:
    """An entry for a legend: its name, and of a rule read out of the log what it says."""
    entry = posted.correction
    name = correction_name(entry, posted.revision, statement, posted.file)
    cause = _of_entry(entry, statement)
    if not entry.startswith("rule-") or cause is None or cause.rule is None or cause.expected:
        return name
    return text_of(f"Rule read out of the log ({words.rule(cause.rule, words.units(statement))})")


def cause_name(cause: Cause, statement: Statement) -> str:
    """What a cause is called on the page: its correction, else its kind."""
    named = cause.correction or cause.entry
    if named:
        return correction_name(named, cause.revision, statement, cause.file)
    kind = cause.kind[0].upper() + cause.kind[1:]
    return f"{kind}, {name_of(cause.channel)}" if kind == "Unknown" and cause.channel else kind


def cause_key(cause: Cause) -> str:
    """Names a cause again when the same files are read once more: what it is, not its numbers."""
    parts = [cause.kind, cause.correction or cause.entry, cause.revision, cause.channel]
    if cause.rule is not None:
        parts.append(conditions(cause.rule.when))
    return text_of(" · ".join(part for part in parts if part))


def sources(books: LogAccount, sheets: tuple[SuppliedSheet, ...]) -> list[str]:
    """Where scheduled and delivered come from: `logged in Adv asked`, `map of revision D`."""
    roles = [books.roles.get(signal) for signal in ("scheduled advance", "delivered advance")]
    logged = [f"logged in {name_of(role.channel.name)}" if role else "" for role in roles]
    if not logged[0] and sheets:
        logged[0] = f"map of revision {name_of(sheets[0].calibration.revision)}"
    return logged


def basis(entry: Entry) -> str:
    """`computed, revision C`, `logged in Wet share`, `inferred from the log`."""
    if entry.channel:
        return f"{entry.evidence.value} in {name_of(entry.channel)}"
    if entry.revision:
        return f"{entry.evidence.value}, revision {name_of(entry.revision)}"
    return f"{entry.evidence.value} from the log"
