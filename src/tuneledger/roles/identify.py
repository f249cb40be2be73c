"""Which channel is which signal: four kinds of witness heard, then settled into certainties."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from tuneledger.calibrations.model import Calibration
from tuneledger.errors import RolesError
from tuneledger.logs.model import Log
from tuneledger.roles import relations
from tuneledger.roles.evidence import SOUGHT, Evidence, hear
from tuneledger.roles.facts import gather
from tuneledger.roles.files import RolesFile, check_against
from tuneledger.roles.house import first_impression, settle_in
from tuneledger.roles.model import Roles
from tuneledger.roles.remainder import with_perhaps_scheduled
from tuneledger.roles.verdict import give
from tuneledger.wording import listing

_REMEMBERED = "remembered from an earlier log with the same header"


def identify(
    log: Log,
    *,
    sheets: Sequence[Calibration] = (),
    roles_file: RolesFile | None = None,
    remembered: RolesFile | None = None,
) -> Roles:
    """Say which channel of a log is which signal, how sure that is, and why.

    sheets:     calibrations handed over with the log; their maps are a witness
    roles_file: what somebody says; it overrules everything
    remembered: what somebody said of an earlier log with the same header; `roles_file` overrules it

    A signal has a role only from a certainty of 0.8; below, it is among `doubts`. Raises a
    RolesError where the roles file names channels that the log lacks, or says what cannot be.
    """
    if remembered is not None and check_against(remembered, log):
        remembered = None
    told, source = _told(log, roles_file, remembered)
    by_name = {c.name.casefold(): c.name for c in log.channels}
    units = {by_name[n.strip().casefold()]: u for n, u in told.units.items()}
    facts = gather(log, units)
    evidence = hear(log, facts, first_impression(facts, frozenset(units)))
    _overrule(evidence, told)
    if settle_in(evidence):
        _overrule(evidence, told)
    evidence.take_stock()
    relations.weigh(evidence, sheets)
    earlier = remembered.units if remembered is not None else {}
    now = roles_file.units if roles_file is not None else {}
    given = with_perhaps_scheduled(evidence, give(evidence, told, source, units))
    return replace(given, notes=(*_unit_notes(told, earlier, now), *given.notes))


def _unit_notes(
    told: RolesFile, earlier: Mapping[str, str], now: Mapping[str, str]
) -> Iterator[str]:
    """Units that somebody stated: each channel is read by them, so that none goes unsaid."""
    for kept, says in ((False, "the roles file says"), (True, _REMEMBERED)):
        stated = [
            f'"{name}" is read in {unit}'
            for name, unit in told.units.items()
            if (name not in now and name in earlier) == kept
        ]
        if stated:
            forget = "; `tuneledger look LOG --forget` forgets it" if kept else ""
            yield f"{says}: {listing(stated)}, whatever its label{forget}"


def _told(
    log: Log, roles_file: RolesFile | None, remembered: RolesFile | None
) -> tuple[RolesFile, dict[str, str]]:
    """What somebody says, and where each signal's word comes from."""
    if roles_file is not None:
        faults = check_against(roles_file, log)
        if faults:
            raise RolesError(faults)
    told = (roles_file or RolesFile()).over(remembered)
    source = dict.fromkeys(told.roles, _REMEMBERED)
    source.update(dict.fromkeys(roles_file.roles if roles_file else (), "the roles file says so"))
    return told, source


def _overrule(evidence: Evidence, told: RolesFile) -> None:
    """What somebody says is certain: that channel, and no other, is that signal."""
    for signal, name in told.roles.items():
        if signal in SOUGHT:
            wanted = name.strip().casefold()
            evidence.give_away(
                next(
                    i for i, f in enumerate(evidence.facts) if f.channel.name.casefold() == wanted
                ),
                signal,
            )
