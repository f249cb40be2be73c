"""The roles file of CONTRACT section 1: which channel is which signal, and which unit it truly has.

A reader that refuses with every fault at once, and a writer that gives the same thing back.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from pathlib import Path
from typing import Any

from tuneledger.bounded import MEGABYTE, read_whole, why_unread
from tuneledger.calibrations.nearest import did_you_mean, nearest
from tuneledger.calibrations.text import parse
from tuneledger.errors import Fault, RolesError, SheetError
from tuneledger.logs.model import Log
from tuneledger.record import record
from tuneledger.roles.model import Roles
from tuneledger.signals import SIGNALS
from tuneledger.units import conversion, parse_unit

FORMAT = "tuneledger-roles/1"
_LARGEST_BYTES = MEGABYTE
_HEAD = """# Which channel of the log is which signal, and the unit a channel truly is in.
# Put right what is wrong and hand it over with --roles; a line may be left out.
"""


@record
class RolesFile:
    """What somebody said: signal → channel name, channel name → unit. `file` names it in faults."""

    roles: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    file: str | None = None

    def over(self, other: "RolesFile | None") -> "RolesFile":
        """This one, with what it leaves open taken from another."""
        if other is None:
            return self
        taken = {name.strip().casefold() for name in self.roles.values()}
        kept = {s: c for s, c in other.roles.items() if c.strip().casefold() not in taken}
        return RolesFile({**kept, **self.roles}, {**other.units, **self.units}, self.file)


def read_roles_file(path: Path) -> RolesFile:
    """Read a roles file. Raises a RolesError with every fault in it."""
    file = str(path)
    try:
        text = read_whole(path, _LARGEST_BYTES).decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise RolesError(Fault("not UTF-8 text", file=file, do=_do())) from problem
    except OSError as problem:
        found, do = why_unread(problem)
        raise RolesError(Fault(found, file=file, do=do)) from problem
    return parse_roles(text, file)


def parse_roles(text: str, file: str | None = None) -> RolesFile:
    """A roles file from its text. Raises a RolesError with every fault in it."""
    try:
        document = parse(text, file) if text.strip() else {}
    except SheetError as problem:
        faults = [replace(fault, do=fault.do or _do()) for fault in problem.faults]
        raise RolesError(faults) from None
    faults = list(_faults(document, file))
    if faults:
        raise RolesError(faults)
    return RolesFile(dict(document.get("roles", {})), dict(document.get("units", {})), file)


def check_against(told: RolesFile, log: Log) -> list[Fault]:
    """What a roles file says of channels that this log does not have."""
    names = [channel.name for channel in log.channels]
    faults = []
    places = [(f'roles."{signal}"', name) for signal, name in told.roles.items()]
    places += [(f'units."{name}"', name) for name in told.units]
    for place, name in places:
        if log.find(name) is None:
            near = nearest(name, names, cutoff=0.5)
            advice = f'Did you mean "{near}"?' if near else "Take a name from the log's header."
            found = f'the log {log.file} has no channel "{name}"'
            faults.append(Fault(found, file=told.file, place=place, do=advice))
    return faults


def roles_text(found: Sequence[Roles]) -> str:
    """Roles as a roles file: of several logs, the first that has a signal decides.

    A unit is written where the channel had to be read in another than its label's.
    """
    roles: dict[str, str] = {}
    units: dict[str, str] = {}
    for some in found:
        for signal, role in some.by_signal.items():
            if signal == "time" or signal in roles:
                continue
            roles[signal] = role.channel.name
            label = parse_unit(some.units.get(role.channel.name, role.channel.unit))
            if role.relabelled == "unit" or label is None or label.symbol != role.unit:
                units[role.channel.name] = role.unit
        for name, unit in some.units.items():
            units.setdefault(name, unit)
    return text_of(RolesFile(roles, {n: u for n, u in units.items() if u}))


def text_of(told: RolesFile) -> str:
    """A roles file's text."""
    lines = [_HEAD, f'format = "{FORMAT}"', "", "[roles]"]
    width = max((len(_quoted(signal)) for signal in told.roles), default=0)
    lines += [f"{_quoted(s):{width}} = {_quoted(channel)}" for s, channel in told.roles.items()]
    if told.units:
        lines += ["", "[units]"]
        lines += [f"{_quoted(name)} = {_quoted(unit)}" for name, unit in told.units.items()]
    return "\n".join(lines) + "\n"


def _faults(document: Mapping[str, Any], file: str | None) -> Iterator[Fault]:
    given = document.get("format")
    if given != FORMAT:
        found = f'format is "{given}"' if given is not None else "there is no format"
        yield Fault(found, file=file, place="format", expected=f'"{FORMAT}"')
    for key in document.keys() - {"format", "roles", "units"}:
        known = ("format", "roles", "units")
        yield Fault("unknown key", file=file, place=key, do=did_you_mean(key, known))
    for part in ("roles", "units"):
        table = document.get(part, {})
        if not isinstance(table, dict):
            yield Fault("not a table", file=file, place=part, expected=f"[{part}] and lines below")
            continue
        check = _role_faults if part == "roles" else _unit_faults
        for key, value in table.items():
            place = f"{part}.{_quoted(key)}"
            if not isinstance(value, str) or not value.strip():
                yield Fault("not a text", file=file, place=place, expected='a text in quotes ("…")')
            else:
                yield from check(key, value, place, file)
    yield from _pairs(document, file)


def _role_faults(key: str, _: str, place: str, file: str | None) -> Iterable[Fault]:
    if key not in SIGNALS:
        advice = did_you_mean(key, SIGNALS, "Signals are")
        yield Fault(f'there is no signal "{key}"', file=file, place=place, do=advice)


def _unit_faults(_: str, value: str, place: str, file: str | None) -> Iterable[Fault]:
    if parse_unit(value) is None:
        yield Fault(f'the unit "{value}" is not known', file=file, place=place, do="See the docs.")


def _pairs(document: Mapping[str, Any], file: str | None) -> Iterator[Fault]:
    """One channel cannot be both advances; and a signal cannot be in a unit of another kind."""
    roles, units = document.get("roles", {}), document.get("units", {})
    if not (isinstance(roles, dict) and isinstance(units, dict)):
        return
    both = [roles.get(s) for s in ("scheduled advance", "delivered advance")]
    if isinstance(both[0], str) and both[0] == both[1]:
        found = f'"{both[0]}" cannot be both the scheduled and the delivered advance'
        yield Fault(found, file=file, place="roles", do="Leave the one out that it is not.")
    for signal, name in roles.items():
        unit = units.get(name) if isinstance(name, str) else None
        if signal in SIGNALS and isinstance(unit, str) and parse_unit(unit) is not None:
            own = SIGNALS[signal].unit
            if not _possible(unit, own, signal):
                yield Fault(
                    f'"{signal}" cannot be in "{unit}"',
                    file=file,
                    place=f"units.{_quoted(name)}",
                    expected=f"a unit like {own}" if own else "no unit",
                )


def _possible(unit: str, own: str, signal: str) -> bool:
    raw = ("V", "mV", "deg") if signal in ("throttle position", "accelerator position") else ()
    symbol = parse_unit(unit)
    return conversion(unit, own) is not None or (symbol is not None and symbol.symbol in raw)


def _quoted(text: str) -> str:
    """A TOML basic string."""
    marks = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}
    shown = "".join(marks.get(c, c if c.isprintable() else f"\\U{ord(c):08x}") for c in text)
    return f'"{shown}"'


def _do() -> str:
    return f'A roles file is TOML that begins with format = "{FORMAT}".'
