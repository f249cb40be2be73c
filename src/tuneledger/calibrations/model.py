"""A calibration sheet as a value: CONTRACT section 2, field for field.

These classes hold what a valid sheet says and refuse a wrong type, a wrong word and an unknown
key. What concerns several keys or parts (an axis that rises, a shape, an id taken twice) is in
`rules`; `check` brings both together and is the way in for anything that somebody wrote.
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from functools import cached_property
from typing import Annotated, Any, Literal, Self, TypeAlias, get_args

import numpy as np
from pydantic import (
    BaseModel,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
)

from tuneledger.arrays import FloatArray, frozen
from tuneledger.calibrations import cells
from tuneledger.calibrations.cells import Cells, as_numbers

FORMAT = "tuneledger-calibration/1"
UNKNOWN_CELL = cells.UNKNOWN_CELL

Number = Annotated[float, Field(allow_inf_nan=False)]
Name = Annotated[str, Field(min_length=1)]

Reason = Literal[
    "idle speed",
    "coolant temperature",
    "air temperature",
    "oil temperature",
    "battery voltage",
    "sensor guard",
    "driver switch",
    "launch",
    "gear shift",
    "traction",
    "boost",
    "nitrous",
    "knock",
    "rev limit",
    "cranking",
    "after start",
    "overrun",
    "altitude",
    "fuel",
    "other",
]
REASONS: tuple[Reason, ...] = get_args(Reason)
Effect = Literal["base", "add", "at most", "at least", "replace"]
EFFECTS: tuple[Effect, ...] = get_args(Effect)


class Part(BaseModel):
    """Strict, closed and immutable: a part of a sheet never changes, edits make a new one."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True
    )

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """A copy, with some fields changed and not checked again; `paths.put` is what checks."""
        copy = super().model_copy(update=update, deep=deep)
        for computed in copy.__dict__.keys() - type(self).model_fields.keys():
            del copy.__dict__[computed]  # a grid that was kept would be the old one's
        return copy

    @property
    def given(self) -> dict[str, Any]:
        """What the part says under the sheet's own keys, parts inside it alike; no absent ones.

        Not by `model_dump`, which would first build a serializer for each class.
        """
        fields = type(self).model_fields.items()
        said = {field.alias or name: getattr(self, name) for name, field in fields}
        return {key: _given(value) for key, value in said.items() if value is not None}


def _given(value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(map(_given, value))
    return value.given if isinstance(value, Part) else value


class Reading(Part):
    """A number taken from the log: a signal or channel in a unit, and what is done to it.

    Exactly one of `signal`, `channel`, `since`. `minus` and `over` name a second signal or
    channel; `rate` is the span in seconds over which the change per second is taken.
    """

    signal: Name | None = None
    channel: Name | None = None
    since: "Condition | None" = None
    unit: str | None = None
    minus: Name | None = None
    over: Name | None = None
    rate: Annotated[float, Field(gt=0)] | None = None


class Axis(Reading):
    """One axis of a table: a reading and the strictly rising points at which values stand."""

    at: Annotated[tuple[Number, ...], Field(min_length=1)]

    @property
    def points(self) -> FloatArray:
        return np.asarray(self.at, dtype=np.float64)


class Table(Part):
    """Values over one to three axes, or one number. Look-up is multilinear and holds end values."""

    axes: tuple[Axis, ...] = ()
    values: Cells | None = None
    amount: Number | None = None

    @cached_property
    def grid(self) -> FloatArray:
        """The values in the axes' shape, NaN where a cell is "?"; shape () for an amount."""
        numbers = self.amount if self.values is None else as_numbers(self.values)
        grid = np.asarray(np.nan if numbers is None else numbers, dtype=np.float64)
        frozen(grid)
        return grid

    def __eq__(self, other: object) -> bool:
        """Alike in every field; the grid, which is worked out when asked for, has no say."""
        if type(self) is not type(other):
            return NotImplemented
        return all(getattr(self, name) == getattr(other, name) for name in type(self).model_fields)

    __hash__ = Part.__hash__

    @property
    def has_numbers(self) -> bool:
        """Whether there is a table or an amount at all (a correction may have neither)."""
        return self.values is not None or self.amount is not None


class Comparison(Reading):
    """A reading compared: exactly one of `above`, `below`, `between`, `is`.

    `release` gives hysteresis, `held` needs it true for that long first, `linger` keeps it so.
    """

    above: Number | None = None
    below: Number | None = None
    between: Annotated[tuple[Number, ...], Field(min_length=2, max_length=2)] | None = None
    is_: Literal["on", "off"] | Number | None = Field(default=None, alias="is")
    release: Number | None = None
    held: Annotated[float, Field(ge=0)] | None = None
    linger: Annotated[float, Field(ge=0)] | None = None


class AnyOf(Part):
    """True where one of its conditions is."""

    any: Annotated[tuple["Condition", ...], Field(min_length=1)]


class CorrectionActive(Part):
    """True where an earlier correction of the sheet is active."""

    correction: Name
    is_: Literal["active"] = Field(alias="is")


def _condition_kind(value: Any) -> str:
    """Which condition is meant, so that a fault in it is told once and not for every kind."""
    if isinstance(value, str):
        return "(word)"
    keys = value if isinstance(value, Mapping) else getattr(type(value), "model_fields", ())
    if "any" in keys:
        return "(any)"
    return "(correction)" if "correction" in keys else "(comparison)"


def _ramp_kind(value: Any) -> str:
    return "(both ways)" if isinstance(value, Mapping | Part) else "(number)"


_AnyKind: TypeAlias = (
    Annotated[Comparison, Tag("(comparison)")]
    | Annotated[AnyOf, Tag("(any)")]
    | Annotated[CorrectionActive, Tag("(correction)")]
)
Condition: TypeAlias = Annotated[_AnyKind, Discriminator(_condition_kind)]


class Ramp(Part):
    """How fast a contribution may change, in degrees per second, downwards and upwards."""

    down: Annotated[float, Field(gt=0)]
    up: Annotated[float, Field(gt=0)]


Latch: TypeAlias = Annotated[
    _AnyKind | Annotated[Literal["power off"], Tag("(word)")], Discriminator(_condition_kind)
]
RampRate: TypeAlias = Annotated[
    Annotated[float, Field(gt=0), Tag("(number)")] | Annotated[Ramp, Tag("(both ways)")],
    Discriminator(_ramp_kind),
]
TAGS = ("(comparison)", "(any)", "(correction)", "(word)", "(number)", "(both ways)")


class Correction(Table):
    """Anything in a calibration that moves the advance away from the map."""

    id: Name
    title: str = ""
    reason: Reason = "other"
    enabled: bool = True
    effect: Effect = "add"
    weight: Table | None = None
    when: tuple[Condition, ...] = ()
    until: Latch | None = None
    ramp: RampRate | None = None
    expected: str | None = None
    logged_as: Name | None = None
    range: Annotated[tuple[Number, ...], Field(min_length=2, max_length=2)] | None = None

    @property
    def called(self) -> str:
        """What a person calls it: its title, else its id."""
        return self.title or self.id

    @property
    def ramps(self) -> Ramp | None:
        return Ramp(down=self.ramp, up=self.ramp) if isinstance(self.ramp, float) else self.ramp


class Limits(Part):
    """The lowest and highest advance that may be delivered, applied last; one may be absent."""

    lowest: Number | None = None
    highest: Number | None = None


class Spark(Part):
    """The spark side of a calibration. `complete`: no correction exists that it does not list."""

    map: Table
    complete: bool = True
    limits: Limits | None = None
    scheduled_includes: tuple[Name, ...] = ()
    correction: tuple[Correction, ...] = ()

    def find(self, correction_id: str) -> Correction | None:
        return next((c for c in self.correction if c.id == correction_id), None)


class Engine(Part):
    """What of the engine the sheet states: speeds in rpm, each may be absent."""

    cylinders: Annotated[int, Field(ge=1, le=32)] | None = None
    fuel: str | None = None
    redline_rpm: Annotated[float, Field(gt=0)] | None = None


class Band(Part):
    """What the owner allows to be reached in any cell; each may be absent.

    below_map, above_map: degrees that delivered may be below and above the map's own value
    lowest, highest:      the least and most that may be delivered
    """

    below_map: Annotated[float, Field(ge=0)] | None = None
    above_map: Annotated[float, Field(ge=0)] | None = None
    lowest: Number | None = None
    highest: Number | None = None


class Accepted(Part):
    """A finding of the audit that the owner accepts, as long as what it is about stays as it is.

    of: a mark of what stands at the places, which the audit gives with the finding
    """

    check: Name
    places: Annotated[tuple[Name, ...], Field(min_length=1)]
    reason: Name
    of: Name


class AuditWishes(Part):
    """What the owner tells the audit; it changes nothing of what the ECU does."""

    band: Band | None = None
    accepted: tuple[Accepted, ...] = ()


class Calibration(Part):
    """One revision of a car's calibration."""

    format: Literal["tuneledger-calibration/1"]
    revision: Name
    spark: Spark
    title: str = ""
    saved: datetime | date | None = None
    notes: str = ""
    # Made unchecked: a check would build its validator at every start, and defaults need none.
    engine: Engine = Engine.model_construct()
    audit: AuditWishes = AuditWishes.model_construct()


def readings(part: Part) -> Iterator[Reading]:
    """Every reading below a part, depth first: axes, conditions, conditions inside `since`."""
    if isinstance(part, Reading):
        yield part
    for name in type(part).model_fields:
        value = getattr(part, name)
        for item in value if isinstance(value, tuple) else (value,):
            if isinstance(item, Part):
                yield from readings(item)
