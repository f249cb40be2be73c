"""A statement as the data of its page: names, windows, and packed arrays."""

from collections.abc import Sequence

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.explain.model import Cause
from tuneledger.logs.model import Channel
from tuneledger.pages import channels, visits
from tuneledger.pages.names import (
    basis,
    cause_key,
    cause_name,
    correction_name,
    name_of,
    sources,
    text_of,
)
from tuneledger.pages.notes import no_notes
from tuneledger.pages.pack import Packed, Packer
from tuneledger.pages.proof import Proof, proofs
from tuneledger.pages.shape import (
    AccountData,
    AxisData,
    CauseData,
    EntryData,
    EpisodeData,
    LayerData,
    LineData,
    LogData,
    MapData,
    NotesData,
    PageData,
    StripData,
)
from tuneledger.statement.model import Statement

_PROVING = 6  # channels brought up for one cause
PLACES = 2  # decimals of a degree, at most


def page_data(
    statement: Statement,
    grid: visits.Grid | None,
    packer: Packer,
    notes: NotesData | None = None,
    rehearsed: Sequence[FloatArray | None] = (),
) -> PageData:
    """All that the page's modules read. Arrays go into `packer`.

    rehearsed: delivered under a rehearsed change, per row of each log's ledger
    """
    changed = list(rehearsed) or [None] * len(statement.logs)
    found = [
        [proofs(cause, books, statement.sheets)[:_PROVING] for cause in statement.causes]
        for books in statement.logs
    ]
    carried = [
        channels.wanted(books, [proof.channel for per_cause in found[i] for proof in per_cause])
        for i, books in enumerate(statement.logs)
    ]
    return PageData(
        logs=[
            _log(statement, i, carried[i], (grid.cells[i] if grid else None, changed[i]), packer)
            for i in range(len(statement.logs))
        ],
        episodes=[
            EpisodeData(
                log=e.log,
                start_s=e.start_s,
                end_s=e.end_s,
                sign=int(np.sign(e.difference_deg)) if np.isfinite(e.difference_deg) else 0,
            )
            for e in statement.episodes
        ],
        causes=[
            CauseData(
                key=cause_key(cause),
                title=cause_name(cause, statement),
                episodes=list(cause.episodes),
                strips=[
                    strip
                    for log, per_cause in enumerate(found)
                    for strip in _strips(log, per_cause[i], carried[log])
                ],
                cells=_cells(cause, grid),
                layer=_layer(cause, grid),
            )
            for i, cause in enumerate(statement.causes)
        ],
        map=_map(grid) if grid else None,
        tolerance_deg=statement.judged_beyond_deg,
        notes=notes or no_notes(statement),
    )


def _log(
    statement: Statement,
    index: int,
    carried: list[Channel],
    more: tuple[FloatArray | None, FloatArray | None],
    packer: Packer,
) -> LogData:
    """more: the cell of the map, and what is rehearsed, per row of the ledger"""
    books = statement.logs[index]
    bases: list[Packed] = [packer.add(group.times) for group in books.log.groups]
    account = None
    if books.ledger is not None:
        times = packer.add(books.ledger.times)
        if times not in bases:
            bases.append(times)
        account = _account(statement, index, bases.index(times), more, packer)
    return LogData(
        file=name_of(books.log.file),
        end_s=books.log.duration_s,
        bases=bases,
        account=account,
        channels=[channels.channel_data(c, books, c.group, packer) for c in carried],
        context=[carried.index(c) for c in channels.context(books)],
    )


def _account(
    statement: Statement,
    index: int,
    base: int,
    more: tuple[FloatArray | None, FloatArray | None],
    packer: Packer,
) -> AccountData:
    """The ledger to 0.01°: finer than any ECU sets its spark."""
    cells, rehearsed = more
    books = statement.logs[index]
    ledger = books.ledger
    assert ledger is not None
    scheduled = packer.add(ledger.scheduled, PLACES)
    delivered = packer.add(ledger.delivered, PLACES)
    entries = [
        EntryData(
            title=correction_name(entry.correction, entry.revision, statement, entry.file),
            basis=basis(entry),
            values=packer.add(entry.values, PLACES),
        )
        for entry in ledger.entries
    ]
    packed = (scheduled, delivered, *(entry["values"] for entry in entries))
    names = {name: i for i, name in enumerate(sorted(set(ledger.regime)))}
    own = ledger.own & np.isfinite(ledger.delivered)
    return AccountData(
        base=base,
        gap_s=channels.gap(ledger.times[own] if own.any() else ledger.times),
        decimals=max(1, *(array["decimals"] for array in packed)),
        sources=sources(books, statement.sheets),
        scheduled=scheduled,
        delivered=delivered,
        rehearsed=None if rehearsed is None else packer.add(rehearsed, PLACES),
        own=packer.add(ledger.own),
        void=packer.add(ledger.void),
        regimes=list(names),
        regime=packer.add(np.array([names[name] for name in ledger.regime])),
        entries=entries,
        cells=None if cells is None else packer.add(cells),
    )


def _strips(log: int, found: list[Proof], carried: list[Channel]) -> list[StripData]:
    return [
        StripData(
            log=log,
            channel=carried.index(proof.channel),
            lines=[
                LineData(at=line.at, side=line.side, says=text_of(line.says))
                for line in proof.lines
            ],
        )
        for proof in found
        if proof.channel in carried
    ]


def _cells(cause: Cause, grid: visits.Grid | None) -> list[int]:
    if grid is None or cause.kind != "other map":
        return []
    found = (grid.cell_of(cell.at) for cell in cause.cells)
    return [cell for cell in found if cell is not None]


def _layer(cause: Cause, grid: visits.Grid | None) -> int:
    """The other revision's map where the cause is that it runs with that map."""
    if grid is None or cause.kind != "other map":
        return -1
    revisions = [layer.revision for layer in grid.layers]
    return revisions.index(cause.revision) if cause.revision in revisions else -1


def _map(grid: visits.Grid) -> MapData:
    return MapData(
        rows=_axis(grid.rows),
        columns=_axis(grid.columns),
        values=_known(grid.values),
        layers=[
            LayerData(title=name_of(layer.says), values=_known(layer.values))
            for layer in grid.layers
        ],
    )


def _known(values: FloatArray) -> list[list[float | None]]:
    return [[v if np.isfinite(v) else None for v in row] for row in values.tolist()]


def _axis(side: visits.Side) -> AxisData:
    return AxisData(
        name=side.name, unit=side.unit, scale=channels.scale(side.unit), at=side.at.tolist()
    )
