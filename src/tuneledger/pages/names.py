"""What a page calls things: corrections by their title, entries by where they come from."""

from tuneledger.explain.model import Cause
from tuneledger.ledger.model import Entry
from tuneledger.phrases import conditions
from tuneledger.statement.model import LogAccount, SuppliedSheet
from tuneledger.wording import visible

LONGEST = 80  # of a name, in characters
_LONGEST_TEXT = 800  # of a sentence
_OURS = {"limit": "Limits", "other-map": "Another map", "idle-governor": "Idle governor"}


def name_of(text: str) -> str:
    """A name from somebody's file, on one line: hidden characters escaped, an endless one cut."""
    return _cut(visible(text[: 2 * LONGEST]), LONGEST)


def text_of(text: str) -> str:
    """A sentence, which may quote such a name."""
    return _cut(visible(text[: 2 * _LONGEST_TEXT]), _LONGEST_TEXT)


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def correction_name(
    correction: str, revision: str | None, sheets: tuple[SuppliedSheet, ...]
) -> str:
    """The title that a sheet gives it; for our own ids plain words; else the id as words."""
    for sheet in sheets:
        found = sheet.calibration.spark.find(correction)
        if found is not None and found.title and revision in (None, sheet.calibration.revision):
            return name_of(found.title)
    if correction in _OURS:
        return _OURS[correction]
    if correction.startswith("rule-"):
        return f"Hidden rule {name_of(correction[5:])}"
    words = name_of(correction).replace("-", " ").strip()
    return words[:1].upper() + words[1:]


def cause_name(cause: Cause, sheets: tuple[SuppliedSheet, ...]) -> str:
    named = cause.correction or cause.entry
    if named:
        return correction_name(named, cause.revision, sheets)
    return cause.kind[0].upper() + cause.kind[1:]


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
