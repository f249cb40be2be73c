"""A run of Kestrel written down otherwise than its labels say, and identified from that."""

from collections.abc import Callable
from dataclasses import replace

from tests.runs import Cells, Run, account
from tuneledger.accounting import reconcile
from tuneledger.arrays import FloatArray
from tuneledger.roles import RolesFile, identify
from tuneledger.statement.model import Statement, SuppliedSheet
from tuneledger.supplied import Supplied

NAMED = {"Air in": "Inlet temp"}
Change = Callable[[FloatArray], FloatArray]


def written(
    run: Run,
    *sheets: SuppliedSheet,
    change: dict[str, Change] | None = None,
    units: dict[str, str] | None = None,
    told: RolesFile | None = None,
) -> Statement:
    """The statement on a log in which some channels are written otherwise than they are labelled,
    or labelled otherwise."""
    plain = account(run, "run.csv").log
    channels = tuple(
        replace(c, name=name, unit=(units or {}).get(name, c.unit))
        for c in plain.channels
        for name in [NAMED.get(c.name, c.name)]
    )
    values = [(change or {}).get(c.name, lambda v: v)(plain.values(c)) for c in channels]
    log = replace(plain, channels=channels, time=channels[0], columns=Cells(values), _numbers={})
    calibrations = [one.calibration for one in sheets]
    roles = identify(log, sheets=calibrations, roles_file=told)
    return reconcile(Supplied(((log, roles),), tuple(sheets)))
