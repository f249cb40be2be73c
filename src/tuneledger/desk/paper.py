"""What a page of the desk has beside the statement: the other cases, the papers, the channels."""

from collections.abc import Sequence

from tuneledger.calibrations.asam.files import ORDERS, Wishes
from tuneledger.desk.case import BECOME_SHEETS, Kind, Paper
from tuneledger.desk.channels import channels_of
from tuneledger.desk.drawer import Case
from tuneledger.desk.editable import what_if_section
from tuneledger.pages import Added
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.tag import NOTHING, Markup, join, tag
from tuneledger.wording import count, listing

_SAVED = (
    ("page", "Page"),
    ("statement", "Statement (JSON)"),
    ("ledger", "Ledger (CSV)"),
    ("notes", "Notes"),
    ("roles", "Roles"),
)
_KINDS: dict[Kind, str] = {
    "log": "read as a log",
    "sheet": "a sheet",
    "mapping": "a mapping: which parameter is what",
    "description": "a description of parameters (A2L)",
    "image": "an image of memory, becomes a sheet",
    "instances": "calibration data (CDF), become a sheet",
}
_SAVED_OF_EDITS = (("changes", "Change file"), ("sheet", "Edited sheet"))


def added(case: Case, others: Sequence[Case]) -> Added:
    """All of it for a case with a statement."""
    statement = case.statement
    assert statement is not None
    return Added(
        top=join(bar(case, others), _was(case), papers(case)),
        run=what_if_section(case.whatif, statement),
        foot=tag(
            "section",
            tag("h2", "Channels"),
            *(
                channels_of(account, statement, case.settings.told, i)
                for i, account in enumerate(statement.logs)
            ),
            id="channels",
        ),
    )


def bar(case: Case, others: Sequence[Case]) -> Markup:
    """The way back to the desk, to the other cases, and out to files."""
    links = [
        tag("a", name_of(other.title), href=f"../{other.name}/")
        if other is not case
        else tag("b", name_of(case.title), aria_current="page")
        for other in others
    ]
    accounts = case.statement.logs if case.statement else ()
    none = () if any(account.ledger for account in accounts) else ("ledger",)
    saves = [
        tag("a", text, href=f"save/{what}", download=True)
        for what, text in _SAVED
        if what not in none
    ]
    saves += [
        tag(
            "a",
            text,
            href=f"save/{what}",
            download=True,
            hidden=not case.record.edits,
            cls="edited",
        )
        for what, text in _SAVED_OF_EDITS
    ]
    saves = saves if case.statement else []
    saves += [
        tag("a", name_of(made.name), href=f"save/made-{index}", download=True)
        for index, made in enumerate(case.finds.made)
    ]
    return tag(
        "nav",
        tag("p", tag("a", "The desk", href="../../"), *_spaced(links), cls="cases"),
        tag("p", "Save: ", *_spaced(saves), cls="saves", id="saves") if saves else "",
        tag("p", id="busy", role="status"),
        cls="desk-bar",
        data_drawn=str(case.drawn),
        aria_label="The desk",
    )


def _spaced(links: Sequence[Markup]) -> list[Markup]:
    return [join(Markup(" "), link) for link in links]


def _was(case: Case) -> Markup:
    """What the statement said before the last change of papers or channels."""
    faults = tag("ul", *(tag("li", text_of(str(fault))) for fault in case.faults), cls="faults")
    told = join(tag("p", "The last change was not taken over:"), faults) if case.faults else NOTHING
    statement = case.statement
    if case.before is None or statement is None:
        return told
    verdict, headline = case.before
    if (verdict, headline) == (statement.verdict, statement.headline):
        return join(told, tag("p", "Read again: the statement is the same as before.", cls="was"))
    was = tag("p", tag("b", f"Before: {verdict}. "), text_of(headline), cls="was")
    return join(told, was)


def papers(case: Case) -> Markup:
    """The files of the case: which sheet is said to run, more of them, fewer of them."""
    settings = case.settings
    beside = settings.of("description", "mapping")
    ordered = [*settings.logs, *settings.sheets, *beside]
    first = next((paper.name for paper in settings.sheets), "")
    made = {one.source: one.name for one in case.finds.made}
    rows = [_paper(paper, first, made.get(paper.name, "")) for paper in ordered]
    heads = ("File", "What it is", "Said to run", "")
    head = tag("thead", tag("tr", *(tag("th", text, scope="col") for text in heads)))
    sheets = len(settings.sheets)
    logs = len(settings.logs)
    kinds = [
        count(logs, "log") if logs else "no log",
        count(sheets, "sheet") if sheets else "no sheet",
    ]
    if beside:
        kinds.append(f"{count(len(beside), 'file')} to make sheets by")
    return tag(
        "details",
        tag("summary", f"The papers: {listing(kinds)}"),
        tag("div", tag("table", head, tag("tbody", *rows)), cls="wide") if rows else "",
        tag(
            "p",
            tag("button", "Add files", type="button", id="add"),
            " or drop them anywhere on this page.",
        ),
        _wishes(settings.wishes) if settings.of("description") else "",
        id="papers",
        open=case.statement is None,
    )


def _wishes(wishes: Wishes) -> Markup:
    """How the image is read, where the description leaves that open."""
    orders = (
        ("", "as the description says"),
        *zip(ORDERS, ("highest first", "lowest first"), strict=True),
    )
    options = [
        tag("option", text, value=order, selected=order == (wishes.order or ""))
        for order, text in orders
    ]
    shift = f"0x{wishes.shift:X}" if wishes.shift > 0 else str(wishes.shift)
    return tag(
        "p",
        tag("label", "Bytes of a number (--byte-order) ", tag("select", *options, name="order")),
        tag(
            "label",
            "Addresses moved by (--shift) ",
            tag("input", type="text", name="shift", value=shift, size="10"),
        ),
        tag(
            "label",
            tag("input", type="checkbox", name="mismatched", checked=wishes.mismatched),
            " also an image of another version (--mismatched)",
        ),
        id="wishes",
    )


def _paper(paper: Paper, first: str, made: str) -> Markup:
    name = name_of(paper.name)
    runs = tag(
        "input",
        type="radio",
        name="first",
        value=paper.name,
        checked=paper.name == first,
        aria_label=f"{name} is said to run",
    )
    away = tag(
        "button",
        "remove",
        type="button",
        cls="quiet",
        data_remove=paper.name,
        aria_label=f"Remove {name} from this case",
    )
    becomes = f": {name_of(made)}" if made else ""
    where = "" if paper.own else ", stays where it is"
    return tag(
        "tr",
        tag("th", name, scope="row"),
        tag("td", _KINDS[paper.kind] + becomes + where),
        tag("td", runs if paper.kind in ("sheet", *BECOME_SHEETS) else ""),
        tag("td", away),
    )


def case_list(cases: Sequence[Case]) -> Markup:
    """Every case on the desk, as lines of a list."""
    if not cases:
        return tag("p", "Nothing lies on the desk yet.", cls="none")
    rows = [_case(case) for case in cases]
    heads = ("Case", "Papers", "Says", "")
    head = tag("thead", tag("tr", *(tag("th", text, scope="col") for text in heads)))
    return tag("div", tag("table", head, tag("tbody", *rows), cls="cases"), cls="wide")


def _case(case: Case) -> Markup:
    if case.stage:
        says = f"{case.stage} …"
    elif case.statement is not None:
        says = f"{case.statement.verdict}: {case.statement.headline}"
    elif case.faults:
        says = str(case.faults[0])
    else:
        says = "not read yet"
    away = tag(
        "button",
        "put away",
        type="button",
        cls="quiet",
        data_away=case.name,
        aria_label=f"Put {name_of(case.title)} away",
    )
    return tag(
        "tr",
        tag("th", tag("a", name_of(case.title), href=f"cases/{case.name}/"), scope="row"),
        tag("td", count(len(case.settings.papers), "file")),
        tag("td", text_of(says), data_says=case.name),
        tag("td", away),
    )
