"""Which channel is which signal: four kinds of witness heard, then settled into certainties."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
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
from tuneledger.wording import listing, share

# What would be read so without a word is worth a note where somebody says otherwise.
_SURELY = 0.9
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
    given = _weighed(log, sheets, told, source, units)
    earlier = remembered.units if remembered is not None else {}
    now = roles_file.units if roles_file is not None else {}
    unasked = _weighed(log, sheets, RolesFile(), {}, units) if told.roles else given
    against = _against(told.roles, given, unasked)
    return replace(given, notes=(*_unit_notes(told, earlier, now), *against, *given.notes))


def _weighed(
    log: Log,
    sheets: Sequence[Calibration],
    told: RolesFile,
    source: dict[str, str],
    units: dict[str, str],
) -> Roles:
    """The roles of a log, all witnesses heard, what somebody says of it going before them."""
    facts = gather(log, units)
    evidence = hear(log, facts, first_impression(facts, frozenset(units)))
    _overrule(evidence, told)
    if settle_in(evidence):
        _overrule(evidence, told)
    evidence.take_stock()
    relations.weigh(evidence, sheets)
    return with_perhaps_scheduled(evidence, give(evidence, told, source, units))


def _against(told: Iterable[str], given: Roles, unasked: Roles) -> Iterator[str]:
    """What somebody says of a channel that would surely be read as another signal: it holds, and
    every degree that is worked out from it stands or falls with it.

    told: the signals of which somebody said which channel they are
    unasked: the roles as they would be if nobody had
    """
    for signal in told:
        role, other = given.get(signal), unasked.get(signal)
        if role is None or other is None or other.channel == role.channel:
            continue
        if other.certainty >= _SURELY:
            instead = next(
                (r for r in unasked.by_signal.values() if r.channel == role.channel), None
            )
            seems = f", and is like {instead.signal}" if instead is not None else ""
            yield (
                f'"{role.channel.name}" is said to be {signal}{seems}; unasked, that would be '
                f'"{other.channel.name}" ({share(other.certainty)} sure)'
            )


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
