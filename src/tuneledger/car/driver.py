"""Who drives: a list of legs, each with something to do for so many seconds."""

from dataclasses import dataclass, field

from tuneledger.car.vehicle import Vehicle
from tuneledger.record import record

SHIFT_S = 0.16  # clutch out to clutch in
LIFT_S = 0.12  # the foot comes up before the clutch goes in


@record
class Leg:
    """One thing to do.

    what:    "off" (key on, engine still), "crank", "idle", "blip" (out of gear), "launch" (held
             at the launch speed), "pedal" (in gear), "speed" (follow km/h), "coast", "brake",
             "pull" (a dynamometer takes the engine from one speed to another), "trace"
    level:   pedal in percent, or speed in km/h
    lateral: sideways acceleration in g, signed
    rpm:     from and to, of a pull
    trace:   km/h once a second, of a trace
    """

    what: str
    seconds: float
    level: float = 0.0
    lateral: float = 0.0
    rpm: tuple[float, float] = (0.0, 0.0)
    trace: tuple[float, ...] = ()


@dataclass(slots=True)
class Demand:
    """What hands and feet do at one moment. pedal in percent; gear 0 is neutral."""

    pedal: float = 0.0
    brake: float = 0.0
    gear: int = 0
    clutch_in: bool = False
    crank: bool = False
    launch: bool = False
    shifting: bool = False
    lateral: float = 0.0
    held_rpm: float | None = None


@dataclass(slots=True)
class Driver:
    """Follows the legs. `flat` keeps the pedal down in a shift, so that the ECU has to cut."""

    vehicle: Vehicle
    legs: tuple[Leg, ...]
    flat: bool = False
    gear: int = 0
    pedal: float = 0.0
    lateral: float = 0.0
    _next_gear: int = 0
    _shift_left: float = 0.0
    _shifted: float = 1e3
    _ends: tuple[float, ...] = ()
    _at: int = 0
    _push: float = field(default=0.0)

    def __post_init__(self) -> None:
        total, ends = 0.0, []
        for leg in self.legs:
            total += leg.seconds
            ends.append(total)
        self._ends = tuple(ends)

    @property
    def seconds(self) -> float:
        return self._ends[-1]

    def step(self, t: float, dt: float, rpm: float, kmh: float) -> Demand:
        while self._at < len(self.legs) - 1 and t >= self._ends[self._at]:
            self._at += 1
        leg = self.legs[self._at]
        into = t - (self._ends[self._at] - leg.seconds)
        wanted, brake = self._feet(leg, into, dt, kmh)
        self._choose_gear(leg, dt, rpm, kmh)
        if self._shift_left > 0 and not self.flat:
            wanted = min(wanted, 4.0)
        move = dt / (0.07 if wanted < self.pedal else 0.13)
        self.pedal += (wanted - self.pedal) * min(1.0, move)
        if self.pedal < 0.3 and wanted == 0.0:
            self.pedal = 0.0
        self.lateral += (leg.lateral - self.lateral) * min(1.0, dt / 0.25)
        out_of_gear = leg.what in ("off", "crank", "idle", "blip")
        return Demand(
            pedal=self.pedal,
            brake=brake,
            gear=self.gear,
            clutch_in=out_of_gear or leg.what == "launch" or 0 < self._shift_left <= SHIFT_S,
            crank=leg.what == "crank",
            launch=leg.what == "launch",
            shifting=self._shift_left > 0,
            lateral=self.lateral,
            held_rpm=self._held(leg, into),
        )

    def _feet(self, leg: Leg, into: float, dt: float, kmh: float) -> tuple[float, float]:
        if leg.what == "trace":
            i = min(int(into), len(leg.trace) - 2)
            now, then = leg.trace[i], leg.trace[i + 1]
            return self._follow(now + (then - now) * min(into - i, 1.0), dt, kmh)
        if leg.what == "speed":
            return self._follow(leg.level, dt, kmh)
        if leg.what in ("pedal", "launch", "pull", "blip"):
            return leg.level, 0.0
        return 0.0, {"brake": 0.7, "idle": 0.35}.get(leg.what, 0.0)

    def _follow(self, target: float, dt: float, kmh: float) -> tuple[float, float]:
        """A foot that follows a speed: proportional and a slow push, the brake only well above."""
        if target < 1.0:
            self._push = 0.0
            return 0.0, 0.5
        error = target - kmh
        self._push = min(max(self._push + error * dt * 1.2, -10.0), 45.0)
        pedal = min(max(3.0 + 4.0 * error + self._push + 0.06 * target, 0.0), 80.0)
        return (0.0, min(0.6, -0.08 * error)) if error < -3.0 else (pedal, 0.0)

    def _held(self, leg: Leg, into: float) -> float | None:
        if leg.what != "pull":
            return None
        settle = min(1.0, 0.15 * leg.seconds)
        share = min(max((into - settle) / (leg.seconds - settle), 0.0), 1.0)
        return leg.rpm[0] + (leg.rpm[1] - leg.rpm[0]) * share

    def _choose_gear(self, leg: Leg, dt: float, rpm: float, kmh: float) -> None:
        top = len(self.vehicle.gears)
        self._shifted += dt
        if leg.what in ("off", "crank", "blip") or (leg.what == "idle" and kmh < 15.0):
            self.gear = 0
        elif self.vehicle.is_boat:
            self.gear = 1
        elif leg.what == "pull":
            self.gear = min(4, top)
        elif self.gear == 0:
            self.gear = 1 if kmh < 15.0 else min(3, top)
        elif self._shift_left > 0:
            self._shift_left -= dt
            if self._shift_left <= SHIFT_S / 2:
                self.gear = self._next_gear
        elif self._shifted > 0.7:
            at_wheels = kmh / 3.6 / self.vehicle.tyre_m * self.vehicle.gears[self.gear - 1] * 9.549
            gripping = min(rpm, 1.3 * at_wheels)  # no shift up while clutch or wheels still slip
            self._maybe_shift(gripping, top, leg.what in ("brake", "coast", "idle"))

    def _maybe_shift(self, rpm: float, top: int, slowing: bool) -> None:
        span = self.vehicle.redline - self.vehicle.idle
        hard = min(max(self.pedal / 100.0, 0.0), 1.0)
        up = self.vehicle.idle + span * (0.33 + 0.61 * hard**1.5)
        down = self.vehicle.idle + span * (0.2 if slowing else 0.10 + 0.22 * hard)
        step = 0
        if rpm > up and self.gear < top and not slowing:
            step = 1
        elif rpm < down and self.gear > 1:
            step = -1
        if step:
            self._next_gear = self.gear + step
            self._shift_left, self._shifted = SHIFT_S + LIFT_S, 0.0
