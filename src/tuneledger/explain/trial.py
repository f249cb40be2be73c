"""One sheet tried on one log: carried out as it was handed over, and held against the log."""

from collections.abc import Mapping

import numpy as np

from tuneledger.arrays import BoolArray
from tuneledger.explain.account import Account, carry_out
from tuneledger.explain.carriers import as_logged
from tuneledger.explain.expected import expectations
from tuneledger.explain.included import told
from tuneledger.explain.maps import MapCheck, check_map
from tuneledger.explain.sheets import LaidSheet, says_nothing
from tuneledger.ledger.book import Book
from tuneledger.record import record
from tuneledger.sidebyside import both

# A sheet that can be held against less than this share of what is judged says nothing of the log.
_LEAST_JUDGED = 0.5
# What a sheet leaves over does not refute it where it lies in numbers that the sheet leaves open.
_OPEN_SHARE = 0.8


@record(eq=False)
class Trial:
    """One sheet tried on one log: what it leaves of delivered, and of scheduled.

    judges: it can be computed, and so be held against the log, in at least half of the judged rows
    mute:   it says nothing of this log: to balance with it is no merit of the sheet
    """

    sheet: LaidSheet
    account: Account
    map_check: MapCheck
    notes: tuple[str, ...] = ()
    judges: bool = True
    mute: bool = False

    @property
    def fits(self) -> bool:
        return self.judges and self.account.balances and self.map_check.agrees

    @property
    def silent(self) -> BoolArray:
        """Rows that can be judged, and of which the sheet says nothing: it leaves its numbers open
        there."""
        return np.isnan(self.account.off) & np.isfinite(self.account.left)

    @property
    def refuted(self) -> bool:
        """Whether the log contradicts it, be it only where it says something."""
        if self.fits or not (self.judges and self.map_check.agrees):
            return not self.fits
        open_ = self.silent
        return any(open_[a : b + 1].mean() < _OPEN_SHARE for a, b in self.account.runs)


def try_sheet(book: Book, sheet: LaidSheet, first: LaidSheet, carriers: Mapping[str, str]) -> Trial:
    """Carry out a sheet as it was handed over.

    carriers: correction id → channel of the log that carries its contribution
    """
    parts, notes = [], []
    channels: dict[str, str] = {}
    for name in sheet.enabled:
        part = sheet.parts[name]
        channel = carriers.get(name)
        logged = as_logged(book, sheet, name, channel) if channel is not None else None
        if channel is not None and logged is not None:
            channels[name], part = channel, logged
        elif channel is not None:
            notes.append(
                f"the channel {channel} does not carry what revision {sheet.revision}'s "
                f"'{name}' would take or add: the ECU does not run it like that"
            )
        parts.append(part)
    account, of_map = both(
        lambda: carry_out(
            book,
            sheet,
            parts,
            first=first,
            channels=channels,
            expected=expectations(book, sheet, first, {part.correction: part for part in parts}),
        ),
        lambda: check_map(book, sheet),
    )
    mute = says_nothing(sheet)
    judges = not mute and np.isfinite(account.left).sum() >= _LEAST_JUDGED * book.judged.sum()
    if sheet.inside is not None:
        notes.append(told(sheet.inside, book))
    if of_map.late_s:
        notes.append(_late_inputs(of_map.late_s, sheet))
    return Trial(sheet, account, of_map, tuple(notes), bool(judges), mute)


def _late_inputs(late_s: float, sheet: LaidSheet) -> str:
    order = "after" if late_s > 0 else "before"
    return (
        f"what the map of revision {sheet.revision} reads is logged {abs(late_s) * 1000:.0f} ms "
        f"{order} scheduled advance; for the map the lag is taken out"
    )
