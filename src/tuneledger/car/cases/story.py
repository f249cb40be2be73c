"""A story: what a kind of case decides. `tell` in `telling` drives it and writes it down."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from tuneledger.car.cases.setting import Setting
from tuneledger.car.drive import Ignition
from tuneledger.car.driver import Leg
from tuneledger.car.ecu import Ecu
from tuneledger.car.logger import Damage
from tuneledger.car.ratelimited import RateLimited
from tuneledger.car.sheets import calibration

Sheet = dict[str, Any]
Cause = dict[str, Any]


class UnfitError(Exception):
    """This throw of the dice makes no case of that kind; the next one may."""


@dataclass
class Story:
    """The truth before it is driven.

    running: the sheet that the ECU really carries out; sheets: what is handed over, in order
    hidden:  ids in `running` that no sheet handed over has like this
    acting:  ids (or "limit", "other-map") that must be seen at work, else the case is unfit
    brief, throughout: what is hidden shows for a moment only, or acts in the whole log
    unseen:  the log lacks a channel that the hidden rule reads
    shares:  logged contribution → the corrections whose sum it carries, and its sign
    absent:  quantities that the log must not carry; also: those that it must
    untrusted: quantities whose channel is not fit to be read as them
    slow:    quantity → (own sample in one row of so many, what stands in between)
    relabel: quantity → (unit in which its numbers really are, label that the file gives them)
    accept:  correction id → kinds under which its cause may be given
    rate:    degrees per second by which delivered may rise and fall at most; told as `limit`
    turns:   from when on which sheet ran, where several did one after another
    more:    causes that no entry shows (a channel with the wrong sign or unit)
    """

    setting: Setting
    variant: str
    running: Sheet
    sheets: list[tuple[str, Sheet]] = field(default_factory=list)
    hidden: tuple[str, ...] = ()
    acting: tuple[str, ...] = ()
    quiet: bool = False
    brief: bool = False
    throughout: bool = False
    unseen: bool = False
    also: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    untrusted: tuple[str, ...] = ()
    shares: Mapping[str, tuple[tuple[str, ...], float]] = field(default_factory=dict)
    slow: dict[str, tuple[int, str]] = field(default_factory=dict)
    relabel: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    damage: Damage = field(default_factory=Damage)
    lag: float | None = None
    few_channels: bool = False
    accept: Mapping[str, list[str]] = field(default_factory=dict)
    more: list[Cause] = field(default_factory=list)
    verdicts: list[str] | None = None
    needs: list[dict[str, Any]] = field(default_factory=list)
    best_accepted: list[str | None] | None = None
    plan: dict[str, Any] = field(default_factory=dict)
    other_drive: tuple[Leg, ...] | None = None
    ecu: Callable[[], Ignition] | None = None
    rate: tuple[float, float] | None = None
    turns: tuple[tuple[float, Sheet], ...] = ()
    extra: dict[str, Any] = field(default_factory=dict)

    def ignition(self) -> Ignition:
        """A fresh ECU that carries out what is running."""
        ecu = self.ecu() if self.ecu else switched_on(self.running)
        return RateLimited(ecu, *self.rate) if self.rate else ecu

    def sheet_of(self, revision: str) -> str | None:
        return next((file for file, s in self.sheets if s["revision"] == revision), None)


def switched_on(sheet: Sheet) -> Ecu:
    """An ECU that carries out the sheet and has just been switched on."""
    return Ecu(calibration(sheet), fresh=True)


def sheet(
    setting: Setting, corrections: list[dict[str, Any]], revision: str, **spark: Any
) -> Sheet:
    """A whole sheet of the setting's vehicle; `spark` overrides its spark part."""
    v, rng = setting.vehicle, setting.rng
    seen: set[str] = set()
    for c in corrections:
        if c["id"] in seen:
            c["id"] += "-2"
        seen.add(c["id"])
    part: Sheet = {"map": setting.the_map, "correction": corrections}
    if "limits" not in spark and rng.random() < 0.6:
        part["limits"] = {"lowest": -12.0, "highest": 46.0}
    return {
        "title": v.name,
        "revision": revision,
        "engine": {"cylinders": v.cylinders, "fuel": "gasoline", "redline_rpm": float(v.redline)},
        "spark": part | spark,
    }


def with_spark(sheet: Sheet, revision: str | None = None, notes: str = "", **spark: Any) -> Sheet:
    """The sheet with parts of its spark side changed, as another revision."""
    out = sheet | {"spark": sheet["spark"] | spark}
    if revision:
        out["revision"] = revision
    return out | ({"notes": notes} if notes else {})


def with_correction(
    sheet: Sheet, correction_id: str, revision: str, notes: str = "", **changes: Any
) -> Sheet:
    """The sheet with one correction changed; `drop=True` takes it out."""
    kept = []
    for c in sheet["spark"]["correction"]:
        if c["id"] != correction_id:
            kept.append(c)
        elif not changes.get("drop"):
            kept.append({k: v for k, v in (c | changes).items() if k != "drop"})
    return with_spark(sheet, revision, notes, correction=kept)
