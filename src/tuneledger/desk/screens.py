"""The desk's three screens: all cases, a case that waits for its statement, a case with one."""

import secrets
from collections.abc import Sequence

from tuneledger.calibrations.asam.parameter import Entry
from tuneledger.desk.drawer import Case
from tuneledger.desk.paper import added, bar, case_list, papers
from tuneledger.pages import served_page
from tuneledger.pages.document import Parts, document, texts
from tuneledger.pages.names import name_of, text_of
from tuneledger.pages.tag import NOTHING, Markup, tag
from tuneledger.wording import count

CAUTION = (
    "Too much advance can detonate an engine in seconds; too much retard overheats exhaust, valves "
    "and turbo. Change in small steps, with knock and exhaust temperature watched, on a "
    "dynamometer or closed course, by someone qualified. Vehicles for public roads must keep to "
    "the local emission and safety rules. The desk advises; it never writes to an ECU."
)

_LISTED = 500  # parameters, at most
Screen = tuple[str, str]  # HTML, and the content security policy to send along


def desk_screen(cases: Sequence[Case], keeps: str) -> Screen:
    """All cases, and the place to drop more. `keeps`: the folder that is kept, "" for none."""
    left = (
        f"What you drop is kept in {name_of(keeps)}."
        if keeps
        else "What you drop lies in a private folder, which is removed when the desk is closed."
    )
    body = tag(
        "main",
        tag(
            "header",
            tag("p", "tuneledger", cls="what"),
            tag("h1", "The desk"),
            tag(
                "p",
                "Drop a log here, with its calibration sheets if you have them (or an A2L with its "
                "image, or CDF, and a mapping), or a zip of an e-mail: what is dropped together is "
                "read as one case.",
                cls="explains",
            ),
        ),
        tag(
            "div",
            tag("p", tag("b", "Drop files here")),
            tag("p", tag("button", "Choose files", type="button", id="add")),
            tag("p", id="busy", role="status"),
            id="drop",
        ),
        tag("section", tag("h2", "On the desk"), case_list(cases), id="cases"),
        tag(
            "footer",
            tag("p", f"{left} Nothing leaves this machine.", cls="soft"),
            tag("p", tag("b", "Take care. "), CAUTION, cls="soft", id="care"),
            tag("p", tag("button", "Close the desk", type="button", id="close")),
        ),
    )
    return document("The desk", body, {}, "", _parts("#desk/desk.js"))


def waiting_screen(case: Case, others: Sequence[Case]) -> Screen:
    """A case without a statement: what is being done, or why it cannot be."""
    if case.stage:
        says = tag("p", "The files are being read.", cls="none", id="reading")
    elif case.faults:
        faults = (tag("li", text_of(str(fault))) for fault in case.faults)
        head = "Made, and no log yet" if case.finds.made else "This cannot be used"
        notes = (tag("li", text_of(note)) for made in case.finds.made for note in made.notes)
        says = tag("section", tag("h2", head), tag("ul", *faults, cls="faults"), tag("ul", *notes))
    else:
        says = tag("p", "Nothing was read yet: add a log.", cls="none")
    body = tag(
        "main",
        bar(case, others),
        tag("header", tag("h1", name_of(case.title))),
        says,
        _contents(case.finds.contents),
        papers(case),
    )
    return document(name_of(case.title), body, {}, "", _parts("#desk/waiting.js"))


def _contents(entries: Sequence[Entry]) -> Markup:
    """What a calibration holds, for whoever writes the mapping that is missing."""
    if not entries:
        return NOTHING
    rows = [
        tag(
            "tr",
            tag("th", name_of(entry.name), scope="row"),
            *(tag("td", text_of(text)) for text in (entry.kind, entry.size, entry.unit)),
            tag(
                "td",
                text_of(f"cannot become part of a sheet: {entry.lost}. " if entry.lost else ""),
                text_of(entry.says),
            ),
        )
        for entry in entries[:_LISTED]
    ]
    heads = ("Parameter", "Kind", "Size, x first", "Unit", "What it says of itself")
    head = tag("thead", tag("tr", *(tag("th", text, scope="col") for text in heads)))
    more = len(entries) - _LISTED
    rest = tag("p", f"and {more} more; `tuneledger sheet contents` lists all of them", cls="soft")
    return tag(
        "details",
        tag("summary", f"What a mapping can name: {count(len(entries), 'parameter')}"),
        tag("div", tag("table", head, tag("tbody", *rows)), cls="wide"),
        rest if more > 0 else "",
        id="contents",
        open=True,
    )


def case_screen(case: Case, others: Sequence[Case]) -> Screen:
    """The statement, with what the desk adds."""
    with case.lock:  # a job that ends meanwhile must not put half of its own into the page
        statement = case.statement
        assert statement is not None
        rehearsed = case.whatif.rehearsed if case.whatif else ()
        return served_page(
            statement, _parts("#desk/case.js"), added(case, others), case.notes, rehearsed
        )


def _parts(main: str) -> Parts:
    package = "tuneledger.desk"
    return Parts(
        main=main,
        modules={f"#desk/{name}": text for name, text in texts(package, ".js")},
        style="\n".join(text for _, text in texts(package, ".css")),
        connect=True,
        salt=secrets.token_hex(16),
    )
