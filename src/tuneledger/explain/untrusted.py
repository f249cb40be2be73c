"""The roles of a log without what is not to be trusted: asked for where the account does not come
out as it is.

A dead sensor may be the ECU's own: then the sheet comes out with the number that it shows, and
nothing is to be put in doubt. Where it does not, what the log shows and what the ECU read are two
things. Whatever is worked out from such a channel would find an ECU at fault for a logger's.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.evaluate.readings import goes_beyond
from tuneledger.explain.ended import where_it_ends, where_it_stops
from tuneledger.explain.finding import Finding
from tuneledger.explain.opened import OpenedBook
from tuneledger.explain.stuck import read_by, reading, standing
from tuneledger.record import record
from tuneledger.roles.model import Misfit, Role, Roles, Unsure, Wanting
from tuneledger.signals import SIGNALS
from tuneledger.units import convert
from tuneledger.wording import listing, quantity, seconds

_WORTH_A_WORD = 0.05
_ADVANCES = ("scheduled advance", "delivered advance")


@record
class _Found:
    """A role that is not to be trusted: with when, or None for throughout; what to say and ask."""

    role: Role
    unsure: Unsure | None
    looks: str
    says: str
    wanting: Wanting


def without_untrusted(opened: OpenedBook) -> Roles | None:
    """The roles without what is not to be trusted; None where all is, as far as a sheet reads it.

    A channel that stands throughout has no role then and is told as unfit for it; one that stops on
    the way, or ends, keeps its role but for those times.
    """
    found = [*_standing(opened), *_stopping(opened), *_ending(opened)]
    if not found:
        return None
    roles = opened.book.roles
    kept = dict(roles.by_signal)
    for one in found:
        if one.unsure is None:
            del kept[one.role.signal]
        else:
            kept[one.role.signal] = replace(one.role, unsure=one.unsure)
    gone = [one for one in found if one.unsure is None]
    return replace(
        roles,
        by_signal=kept,
        notes=(*(one.says for one in found), *roles.notes),
        misfits=(*roles.misfits, *(Misfit(o.role.signal, o.role.channel, o.looks) for o in gone)),
        wanting=(*roles.wanting, *(one.wanting for one in found)),
    )


def _standing(opened: OpenedBook) -> Iterator[_Found]:
    for one in standing(opened.book, opened.laid, suspected=True):
        if one.role.signal == "engine speed":
            continue  # without it nothing at all can be judged, and that is said already
        name, reads = one.role.channel.name, _reads(one.read_by)
        why = f"{reads} it, and {name} is not fit for it: {one.looks}; mend that channel"
        wanting = Wanting(one.role.signal, why, decides=True)
        says = f"{one.says}; it is not used, and what rests on it is open"
        yield _Found(one.role, None, one.looks, says, wanting)


def _stopping(opened: OpenedBook) -> Iterator[_Found]:
    for role in _read(opened):
        unsure = where_it_stops(opened.book, role)
        if unsure is None:
            continue
        name, reads = role.channel.name, _reads(read_by(opened.laid, role.signal))
        start, stop = unsure.spans[0]
        lasts = sum(b - a for a, b in unsure.spans)
        looks = f"stops at {seconds(start)} and stands still for {seconds(lasts)}"
        says = (
            f"{name} stops at {seconds(start)} and stands still until {seconds(stop)}, while the "
            f"engine turns up and down: its sensor, or its channel, is stuck; {reads} it as "
            f"{role.signal}, and what rests on it then is open"
        )
        wanting = Wanting(role.signal, f"{reads} it, and {name} {looks}: mend it", decides=True)
        yield _Found(role, unsure, looks, says, wanting)


def _ending(opened: OpenedBook) -> Iterator[_Found]:
    for role in _read(opened):
        unsure = where_it_ends(opened.book, role)
        if unsure is None or unsure.end is None:
            continue
        names = listing(_beyond(opened, role.signal, unsure))
        if not names:
            continue
        unit, name = SIGNALS[role.signal].unit, role.channel.name
        end = quantity(round(unsure.end, 1), unit)
        lasts = seconds(sum(b - a for a, b in unsure.spans))
        far = "highest" if unsure.beyond == "high" else "lowest"
        more = "more" if unsure.beyond == "high" else "less"
        looks = f"it stands at {end}, its {far}, for {lasts}"
        says = (
            f"{name} stands at {end}, its {far}, for {lasts}, and goes in and out of it at full "
            f"pace: its sensor, or its channel, ends there, and it may have been {more}; what "
            f"{names} of the sheet has beyond is open, and nothing is concluded from it"
        )
        why = (
            f"{names} goes beyond {end}, where {name} ends: log it with a sensor that goes further"
        )
        yield _Found(role, unsure, looks, says, Wanting(role.signal, why, decides=True))


def _reads(names: Sequence[str]) -> str:
    return f"{listing(names)} {'reads' if len(names) == 1 else 'read'}"


def _read(opened: OpenedBook) -> Iterator[Role]:
    """The roles that a sheet reads, the advances aside."""
    for signal, role in opened.book.roles.by_signal.items():
        known = signal in (*_ADVANCES, "time") or role.unsure is not None
        if not known and read_by(opened.laid, signal):
            yield role


def _beyond(opened: OpenedBook, signal: str, unsure: Unsure) -> Sequence[str]:
    """What of the sheets makes a difference beyond a channel's end."""
    names: dict[str, None] = {}
    own = SIGNALS[signal].unit
    for name, one in reading(opened.laid, signal):
        end = convert(np.array([unsure.end]), own, one.unit or own)[0]
        if goes_beyond(one, float(end), high=unsure.beyond == "high"):
            names[name] = None
    return list(names)


def unsaid(findings: Sequence[Finding]) -> str:
    """That part of a log cannot be judged, since what its map reads is not to be trusted then; for
    a headline. Empty where all can be."""
    for finding in findings:
        book = finding.book
        open_ = book.own & ~book.regimes.void & np.isfinite(book.delivered) & np.isnan(book.start)
        for role in book.roles.by_signal.values() if book.scheduled is None else ():
            rows = open_ & role.unsure.rows(book.times) if role.unsure is not None else open_[:0]
            if rows.sum() >= _WORTH_A_WORD * book.own.sum():
                lasts = seconds(float(rows.sum()) * book.row_s / max(float(book.own.mean()), 1e-9))
                return f"Nothing is said of {lasts}: {role.channel.name} is not to be trusted then."
    return ""
