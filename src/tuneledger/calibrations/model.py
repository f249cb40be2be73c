"""A calibration sheet as a value: CONTRACT section 2, field for field.

These classes hold what a valid sheet says and refuse what is wrong in one part by itself (a type,
an unknown key, an axis that does not rise). What concerns several parts is in `check`.
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime
from functools import cached_property
from typing import Annotated, Any, Literal, TypeAlias

import numpy as np
from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag

from tuneledger.arrays import FloatArray

FORMAT = "tuneledger-calibration/1"
UNKNOWN_CELL = "?"

Number = Annotated[float, Field(allow_inf_nan=False)]
Name = Annotated[str, Field(min_length=1)]

REASONS = (
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
)
EFFECTS = ("base", "add", "at most", "at least", "replace")
Effect = Literal["base", "add", "at most", "at least", "replace"]


class Part(BaseModel):
    """Strict, closed and immutable: a part of a sheet never changes, edits make a new one."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


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
    values: tuple[Any, ...] | None = None  # nested tuples of float or "?"; `check` looks inside
    amount: Number | None = None

    @cached_property
    def grid(self) -> FloatArray:
        """The values in the axes' shape, NaN where a cell is "?"; shape () for an amount."""
        if self.amount is not None or self.values is None:
            return np.asarray(np.nan if self.amount is None else self.amount, dtype=np.float64)
        return np.asarray(_numbers(self.values), dtype=np.float64)

    @property
    def has_numbers(self) -> bool:
        """Whether there is a table or an amount at all (a correction may have neither)."""
        return self.values is not None or self.amount is not None


def _numbers(values: Any) -> Any:
    if isinstance(values, tuple):
        return [_numbers(v) for v in values]
    return float("nan") if values == UNKNOWN_CELL else values


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
    keys = value.keys() if isinstance(value, Mapping) else type(value).model_fields.keys()
    if "any" in keys:
        return "any"
    return "correction" if "correction" in keys else "comparison"


Condition: TypeAlias = Annotated[
    Annotated[Comparison, Tag("comparison")]
    | Annotated[AnyOf, Tag("any")]
    | Annotated[CorrectionActive, Tag("correction")],
    Discriminator(_condition_kind),
]


class Ramp(Part):
    """How fast a contribution may change, in degrees per second, downwards and upwards."""

    down: Annotated[float, Field(gt=0)]
    up: Annotated[float, Field(gt=0)]


class Correction(Table):
    """Anything in a calibration that moves the advance away from the map."""

    id: Name
    title: str = ""
    reason: str = "other"
    enabled: bool = True
    effect: Effect = "add"
    weight: Table | None = None
    when: tuple[Condition, ...] = ()
    until: Condition | Literal["power off"] | None = None
    ramp: Annotated[float, Field(gt=0)] | Ramp | None = None
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
    cylinders: Annotated[int, Field(ge=1, le=32)] | None = None
    fuel: str | None = None
    redline_rpm: Annotated[float, Field(gt=0)] | None = None


class Calibration(Part):
    """One revision of a car's calibration."""

    format: Literal["tuneledger-calibration/1"]
    revision: Name
    spark: Spark
    title: str = ""
    saved: datetime | date | None = None
    notes: str = ""
    engine: Engine = Engine()


def readings(part: Part) -> Iterator[Reading]:
    """Every reading below a part, depth first: axes, conditions, conditions inside `since`."""
    if isinstance(part, Reading):
        yield part
    for name in type(part).model_fields:
        value = getattr(part, name)
        for item in value if isinstance(value, tuple) else (value,):
            if isinstance(item, Part):
                yield from readings(item)


Reading.model_rebuild()
Axis.model_rebuild()
Comparison.model_rebuild()
AnyOf.model_rebuild()
Correction.model_rebuild()
