"""The virtual ECU: a calibration carried out sample by sample, and the oracle for `evaluate`.

Written from CONTRACT section 2 alone, slow and plain; `machines` holds readings and conditions,
`posting` what each correction would post by itself.
Decided here, where the contract leaves room:

- Bases share: entry = share · (value − map), and a later base takes its share from all before it.
- A ramp starts at its target at the first sample. After a stretch that was not computable it is
  known again once it would have arrived from anywhere within its table, 0 included. `down` limits
  a falling number (more retard), `up` a rising one.
- `at most` and `at least` act in the order in which they stand in the sheet.
- Where `when` and `until` hold at once, the correction is active.
- A correction whose truth is not known has no number, even if its table says 0 there.
- While it is not known whether a replacement is active, only entries that are 0 are known.
- A correction that the ECU works out itself is read from `logged_as`, in degrees, as it is: it is
  not ramped again. It is active where its conditions hold and that is not 0; without that channel
  nobody knows.
- `limits` act on a replacement too, and their entry then stands beside it.
"""

from collections.abc import Collection

from tuneledger.calibrations.model import Calibration
from tuneledger.car.machines import Read
from tuneledger.car.posting import CorrectionMachine, Posted, known
from tuneledger.car.tables import TableMachine
from tuneledger.car.timers import Truth
from tuneledger.record import record


@record
class Step:
    """The account at one instant, in degrees: scheduled + sum of entries = delivered.

    entries: every correction of the sheet by id, also those that are 0, and `limit` if there are
    limits. None: not computable
    """

    scheduled: float | None
    entries: dict[str, float | None]
    delivered: float | None
    posted: dict[str, Posted]


class Ecu:
    """One calibration at work.

    as_if_enabled: ids that act though the sheet has them off
    fresh: it was switched on just before the first sample, so that nothing is unknown of the past
    """

    def __init__(
        self, calibration: Calibration, as_if_enabled: Collection[str] = (), fresh: bool = False
    ) -> None:
        self._spark = calibration.spark
        self._map = TableMachine(calibration.spark.map, fresh)
        self._corrections = [
            CorrectionMachine(c, c.enabled or c.id in as_if_enabled, fresh)
            for c in calibration.spark.correction
        ]

    def step(self, t: float, read: Read, scheduled: float | None = None) -> Step:
        """The next sample, at time t in seconds, which never falls.

        scheduled: what the log says was scheduled, where that is to be the start instead of the
        sheet's map; what `scheduled_includes` names is then in it already and posts nothing
        """
        included = () if scheduled is None else self._spark.scheduled_includes
        from_map = self._map.step(t, read, {})
        start = scheduled if scheduled is not None else known(from_map)
        active: dict[str, Truth] = {}
        posted: dict[str, Posted] = {}
        for machine in self._corrections:
            posted[machine.id] = machine.step(t, read, active)
            active[machine.id] = posted[machine.id].active
        acting = [m for m in self._corrections if m.id not in included]
        entries, delivered = self._settle(start, acting, posted)
        return Step(start, entries, delivered, posted)

    def _settle(
        self, start: float | None, acting: list[CorrectionMachine], posted: dict[str, Posted]
    ) -> tuple[dict[str, float | None], float | None]:
        entries: dict[str, float | None] = {m.id: 0.0 for m in self._corrections}
        by_effect: dict[str, list[tuple[str, Posted]]] = {}
        for machine in acting:
            by_effect.setdefault(machine.effect, []).append((machine.id, posted[machine.id]))
        entries.update(_bases(start, by_effect.get("base", [])))
        entries.update({name: p.value for name, p in by_effect.get("add", [])})
        standing = _sum([start, *entries.values()])
        for machine in acting:
            if machine.effect in ("at most", "at least"):
                cut = _cut(machine.effect, standing, posted[machine.id])
                entries[machine.id] = cut
                standing = _sum([standing, cut])
        standing = _replace(start, standing, entries, by_effect.get("replace", []))
        return self._limit(entries, standing)

    def _limit(
        self, entries: dict[str, float | None], standing: float | None
    ) -> tuple[dict[str, float | None], float | None]:
        limits = self._spark.limits
        if limits is None:
            return entries, standing
        if standing is None:
            return entries | {"limit": None}, None
        within = standing
        if limits.highest is not None:
            within = min(within, limits.highest)
        if limits.lowest is not None:
            within = max(within, limits.lowest)
        return entries | {"limit": within - standing}, within


def _bases(start: float | None, bases: list[tuple[str, Posted]]) -> dict[str, float | None]:
    left: float | None = 1.0
    entries: dict[str, float | None] = {}
    for name, p in reversed(bases):
        share = 0.0 if p.active is False else (p.weight if p.active else None)
        entries[name] = _share(left, share, p.value, start)
        if share == 1.0 or left == 0.0:
            left = 0.0  # whatever those after it are, nothing is left for those before it
        else:
            left = None if left is None or share is None else left * (1.0 - share)
    return entries


def _share(
    left: float | None, share: float | None, value: float | None, start: float | None
) -> float | None:
    if share == 0.0 or left == 0.0:
        return 0.0
    if left is None or share is None or value is None or start is None:
        return None
    return left * share * (value - start)


def _cut(effect: str, standing: float | None, p: Posted) -> float | None:
    if p.active is False:
        return 0.0
    if p.active is None or standing is None or p.value is None:
        return None
    cut = p.value - standing
    return min(cut, 0.0) if effect == "at most" else max(cut, 0.0)


def _replace(
    start: float | None,
    standing: float | None,
    entries: dict[str, float | None],
    replacements: list[tuple[str, Posted]],
) -> float | None:
    """The last active replacement wins; `entries` are changed in place."""
    possible = [(name, p) for name, p in replacements if p.active is not False]
    if not possible:
        return standing
    name, last = possible[-1]
    if last.active is None:
        entries.update({n: None for n, entry in entries.items() if entry != 0.0})
        entries.update({n: None for n, _ in possible})
        return None
    entries.update(dict.fromkeys(entries, 0.0))
    entries[name] = _sum([last.value, None if start is None else -start])
    return last.value


def _sum(parts: list[float | None]) -> float | None:
    total = 0.0
    for part in parts:
        if part is None:
            return None
        total += part
    return total
