"""A signal that a log lacks, or has only under numbers that cannot be it: how to say which."""

from collections.abc import Sequence

from tuneledger.roles.model import Misfit, Roles
from tuneledger.wording import listing


def why_lacking(name: str, roles: Roles) -> str:
    """`the log does not carry it`, or what is wrong with the channel that is named so."""
    one = _misfit(name, roles)
    if one is None:
        doubted = _doubted(name, roles)
        return "no channel of the log is surely it" if doubted else "the log does not carry it"
    return f"{one.channel.name} is not fit for it: {one.says}"


def lacking(names: Sequence[str], roles: Roles) -> str:
    """`the log does not carry engine speed`, or what is wrong with the channels named so."""
    unsure = [name for name in names if _doubted(name, roles)]
    absent = [name for name in names if _misfit(name, roles) is None and name not in unsure]
    parts = [f"the log does not carry {listing(absent)}"] if absent else []
    parts += [f"no channel of the log is surely {listing(unsure, 'or')}"] if unsure else []
    for name in names:
        one = _misfit(name, roles)
        if one is not None:
            parts.append(f"{one.channel.name} is not fit to be {name}: {one.says}")
    return "; ".join(parts)


def to_state(names: Sequence[str], roles: Roles) -> str | None:
    """What to state in a roles file, where that would do for all that is lacking."""
    if names and all(_doubted(name, roles) for name in names):
        return f"Say in a roles file (--roles) which channel is {listing(names)}."
    found = [_misfit(name, roles) for name in names]
    told = [f'"{one.channel.name}" = "{one.unit}"' for one in found if one is not None and one.unit]
    if not told or len(told) < len(found):
        return None
    return f"If it counts so, state it in a roles file (--roles): [units] {', '.join(told)}."


def _doubted(name: str, roles: Roles) -> bool:
    return any(doubt.signal == name for doubt in roles.doubts)


def _misfit(name: str, roles: Roles) -> Misfit | None:
    return next((one for one in roles.misfits if one.signal == name), None)
