"""An advance that is left over beside the delivered one: perhaps it is the scheduled one.

A name in words that nobody knows, or that mean something else in another language, may hide it. A
channel in degrees that runs as the delivered advance does, and agrees with it for a part of the
run, is named before it is said that scheduled is not logged.
"""

from dataclasses import replace

from tuneledger.roles import words
from tuneledger.roles.evidence import SOUGHT, Evidence
from tuneledger.roles.model import Doubt, Roles
from tuneledger.roles.relations.advance import DELIVERED, SCHEDULED
from tuneledger.roles.relations.pairs import find_pairs
from tuneledger.roles.relations.rows import Rows

_TWIN = 2.0
# How likely it is then: its label and its course speak for it, its name does not. Judgement.
_PERHAPS = 0.5
_MOST = 3


def with_perhaps_scheduled(evidence: Evidence, roles: Roles) -> Roles:
    """The roles, with a doubt about scheduled where a channel may be it and none is."""
    delivered = roles.get(DELIVERED)
    if delivered is None or roles.get(SCHEDULED) is not None:
        return roles
    unsure = {one.signal for one in roles.doubts} | {one.signal for one in roles.misfits}
    if SCHEDULED in unsure:
        return roles
    place = next(i for i, f in enumerate(evidence.facts) if f.channel == delivered.channel)
    left = [
        i
        for i, facts in enumerate(evidence.facts)
        if facts.unit is not None and facts.unit.kind == "angle" and facts.distinct > 1
        if roles.of(facts.channel) is None and i not in evidence.parts
        if words.says_twin(facts.channel.name) < _TWIN and _may_be_one(evidence, i)
    ]
    rows = Rows.around(evidence, place)
    degrees = {i: rows.signal(i, DELIVERED) for i in (place, *left)}
    pairs = find_pairs(degrees, {i: rows.step(i) for i in degrees})
    found = sorted((p for p in pairs if place in (p.a, p.b)), key=lambda p: -p.company)[:_MOST]
    if not found:
        return roles
    channels = [evidence.facts[p.b if p.a == place else p.a].channel for p in found]
    each = round(_PERHAPS / len(channels), 2)
    why = (
        f"it is in degrees, runs as {delivered.channel.name} does and agrees with it in "
        f"{found[0].agree:.0%} of the run, but its name does not say what it is"
    )
    doubt = Doubt(SCHEDULED, tuple((channel, each) for channel in channels), why)
    return replace(roles, doubts=(*roles.doubts, doubt))


def _may_be_one(evidence: Evidence, channel: int) -> bool:
    """Whether its values can be an advance's, whatever its name says."""
    columns = [SOUGHT.index(signal) for signal in (SCHEDULED, DELIVERED)]
    return bool(evidence.judged[channel, columns].max() > -5.0)
