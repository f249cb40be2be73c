"""One account out of several sheets: each carried out where it ran."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from tuneledger.arrays import BoolArray, FloatArray
from tuneledger.explain.account import LIMIT, OTHER_MAP, Account, balanced
from tuneledger.explain.sheets import LaidSheet, same_correction
from tuneledger.explain.spans import Stretch, mask_of
from tuneledger.explain.trial import Trial
from tuneledger.ledger.model import Entry, Ledger


def spliced(trials: Sequence[Trial], stretches: Sequence[Stretch], main: int) -> Account:
    """The account of one log in which the revision changed on the way, or differs from another's.

    A correction that two revisions have alike is one entry; one that they have otherwise is two
    entries of the same id, each zero where the other revision ran.
    main: the sheet that stands for the whole
    """
    rows = trials[0].account.left.size
    used = sorted({stretch.sheet for stretch in stretches})
    masks = {sheet: mask_of(stretches, sheet, rows) for sheet in used}
    accounts = {sheet: trials[sheet].account for sheet in used}
    laid = [trial.sheet for trial in trials]
    channels = {k: v for account in accounts.values() for k, v in account.channels.items()}
    whole = balanced(
        laid[main],
        [part for account in accounts.values() for part in account.parts],
        _joined({i: account.ledger for i, account in accounts.items()}, masks, laid),
        _joined({i: account.judging for i, account in accounts.items()}, masks, laid),
        _by_rows({i: account.left for i, account in accounts.items()}, masks),
        channels,
    )
    settled = accounts[main].settled if main in accounts else {}
    return replace(whole, settled={k: one.within(masks[main]) for k, one in settled.items()})


def _joined(
    ledgers: Mapping[int, Ledger], masks: Mapping[int, BoolArray], laid: Sequence[LaidSheet]
) -> Ledger:
    entries: dict[tuple[str, int], Entry] = {}
    for i, ledger in ledgers.items():
        for entry in ledger.entries:
            owner = _owner(entry.correction, i, laid)
            key = (entry.correction, owner)
            here = np.where(masks[i], entry.values, 0.0)
            if key in entries:
                entries[key] = replace(entries[key], values=entries[key].values + here)
            else:
                of = laid[owner]
                entries[key] = replace(entry, values=here, revision=of.revision, file=of.file)
    some = next(iter(ledgers.values()))
    leeways = {i: ledger.leeway for i, ledger in ledgers.items() if ledger.leeway is not None}
    leeway = some.leeway
    if len(leeways) == len(ledgers):
        leeway = (
            _by_rows({i: one[0] for i, one in leeways.items()}, masks),
            _by_rows({i: one[1] for i, one in leeways.items()}, masks),
        )
    return replace(some, entries=tuple(entries.values()), leeway=leeway)


def _by_rows(values: Mapping[int, FloatArray], masks: Mapping[int, BoolArray]) -> FloatArray:
    out = np.zeros(next(iter(values.values())).shape)
    for i, one in values.items():
        out[masks[i]] = one[masks[i]]
    return out


def _owner(name: str, sheet: int, laid: Sequence[LaidSheet]) -> int:
    """The first sheet that has what this one posts alike, and switched on."""
    return next(i for i, other in enumerate(laid) if i == sheet or _alike(name, laid[sheet], other))


def _alike(name: str, sheet: LaidSheet, other: LaidSheet) -> bool:
    one, two = sheet.calibration.spark, other.calibration.spark
    if name == LIMIT:
        return one.limits == two.limits
    if name == OTHER_MAP:
        return one.map == two.map
    theirs = other.correction(name)
    return theirs is not None and theirs.enabled and same_correction(sheet.correction(name), theirs)
