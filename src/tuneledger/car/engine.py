"""The engine and what hangs on it: air, torque, heat, oil, fuel, supply, knock.

A small model with first-order lags, believable in direction, size and timing; not a design tool.
One instance is one engine in one state; `step` moves it on by `dt`.
"""

import math
from dataclasses import dataclass

from tuneledger.car.torque import FITTED_LITRES
from tuneledger.car.vehicle import Day, Vehicle
from tuneledger.torque import best_spark, crossley_cook

AIR = 0.287  # gas constant of dry air in kJ/(kg·K), handbook value
STOICHIOMETRIC = 14.6  # gasoline, handbook value from memory
IDLE_NM = 15.0  # what accessories take, for two litres
SLOW = 4
FIRES_AFTER = 0.4  # s of turning until synchronised and fuelled
FUEL_CUT_ABOVE = 1500.0  # rpm: overrun without fuel, and again below it


@dataclass(slots=True)
class Engine:
    """State. Temperatures degC, pressures kPa (oil and fuel above the outside air).

    limit: rpm above which fuel is cut, the redline unless a launch holds it lower
    cut:   no torque during a shift under power
    """

    vehicle: Vehicle
    day: Day
    rpm: float = 0.0
    throttle: float = 0.0
    map: float = 0.0
    boost: float = 0.0
    intake_c: float = 0.0
    coolant_c: float = 0.0
    oil_c: float = 0.0
    volts: float = 12.5
    lambda_measured: float = 1.0
    exhaust_c: float = 300.0
    idle_air: float = 0.0
    torque: float = 0.0
    air_g: float = 0.0
    limiting: bool = False
    no_fuel: bool = False
    fan: bool = False
    since_start: float = 1e3
    turned_for: float = 0.0
    turns: int = 0
    spark: float = 10.0
    limit: float = 0.0
    cut: bool = False

    def __post_init__(self) -> None:
        self.map = self.day.baro_kpa
        self.limit = self.vehicle.redline
        soaked = self.day.intake_c
        self.intake_c = self.day.air_c if soaked is None else soaked
        self.coolant_c, self.oil_c = self.day.coolant_c, self.day.oil_c
        self._learn_idle()

    def start_idling(self) -> None:
        """Be warm in the running engine, as a log finds it that begins at idle."""
        self.rpm, self.volts, self.turned_for = self.idle_target, 13.6, 1.0
        self.map = self._manifold(self.idle_air, self.rpm)
        self.air_g = self._charge(self.map, self.rpm)
        self.torque = IDLE_NM * self._size

    def _learn_idle(self) -> None:
        """Set the idle air to what carries the accessories at the target, by halving."""
        low, high = 0.003, 0.08
        for _ in range(20):
            self.idle_air = (low + high) / 2
            kpa = self._manifold(self.idle_air, self.idle_target)
            air = self._charge(kpa, self.idle_target)
            if self._fired(air, 12.0, self.idle_target) < IDLE_NM * self._size:
                low = self.idle_air
            else:
                high = self.idle_air

    @property
    def turning(self) -> bool:
        return self.rpm > 60.0

    @property
    def idle_target(self) -> float:
        """What idle control aims for: higher while cold and just after the start."""
        cold = max(0.0, 60.0 - self.coolant_c) * 5.0
        return self.vehicle.idle + cold + 180.0 * math.exp(-self.since_start / 4.0)

    @property
    def load(self) -> float:
        """Air per stroke against a full cylinder at 25 degC and 100 kPa, percent."""
        return 100.0 * self.air_g / self._full_g(100.0, 25.0)

    @property
    def oil_kpa(self) -> float:
        """Pump against bearing flow; thinner when hot; a relief valve holds it down."""
        if not self.turning:
            return 0.0
        thin = math.exp(-(self.oil_c - 90.0) / 90.0)
        return min(40.0 + 0.092 * self.rpm * thin, 480.0 + 20.0 * thin) * self.vehicle.oil_pump

    @property
    def fuel_kpa(self) -> float:
        """300 kPa over the manifold, less what a weak pump cannot hold at flow."""
        flow = self.air_g * self.rpm * self.vehicle.cylinders / 4.0 / 3000.0
        weak = max(0.0, 1.0 - self.vehicle.fuel_pump) * 90.0
        return 300.0 + self.map - self.day.baro_kpa - weak * flow

    @property
    def lambda_wanted(self) -> float:
        if self.coolant_c < 50.0:
            return 0.92
        rich = min(max((self.map - 75.0) / 60.0, 0.0), 1.0)
        return 1.0 - rich * (0.18 if self.vehicle.turbo else 0.12)

    @property
    def knock_margin(self) -> float:
        """Degrees of spark below the knock limit; negative when knocking."""
        hot = (self.intake_c - 30.0) * 0.12 + max(0.0, self.coolant_c - 95.0) * 0.2
        limit = 47.0 - 0.13 * self.map + self.rpm / 900.0 - hot + self.day.ethanol * 0.12
        return limit - self.spark

    def _full_g(self, kpa: float, celsius: float) -> float:
        litres = self.vehicle.displacement_l / self.vehicle.cylinders
        return kpa * litres / (AIR * (celsius + 273.15))

    def step(self, dt: float, pedal: float, spark: float, load_nm: float, extra_nm: float) -> None:
        """Move on by dt with the spark delivered at this moment.

        load_nm: torque taken by clutch or propeller; extra_nm: by fan, alternator, pump
        """
        self.spark = spark
        self._breathe(dt, pedal)
        self.turned_for = self.turned_for + dt if self.turning else 0.0
        self._burn(pedal, spark)
        accel = (self.torque - load_nm - extra_nm) / self.vehicle.inertia
        self.rpm = max(0.0, self.rpm + accel * dt * 30.0 / math.pi)
        self._idle_control(dt, pedal)
        self.turns += 1
        if self.turns % SLOW == 0:  # heat and supply move slowly
            self._warm(dt * SLOW, pedal)

    def _breathe(self, dt: float, pedal: float) -> None:
        v = self.vehicle
        self.throttle += (pedal - self.throttle) * min(1.0, dt / 0.05)
        spool = min(max((self.rpm - 0.22 * v.redline) / (0.3 * v.redline), 0.0), 1.0)
        wanted = v.boost_kpa * spool * min(max((self.throttle - 15.0) / 50.0, 0.0), 1.0)
        lag = 0.45 if wanted > self.boost else 0.2
        self.boost += (wanted - self.boost) * min(1.0, dt / lag)
        area = self._bypass(pedal) + (max(self.throttle, 0.0) / 100.0) ** 1.5
        wanted = self._manifold(area, self.rpm)
        if not self.turning:
            wanted = self.day.baro_kpa
        self.map += (wanted - self.map) * min(1.0, dt / 0.07)

    @property
    def _size(self) -> float:
        return self.vehicle.displacement_l / FITTED_LITRES

    def _manifold(self, area: float, rpm: float) -> float:
        """Where manifold pressure settles behind an opening at that speed."""
        filling = 1.0 - math.exp(-area * 3.6 * self.vehicle.redline / max(rpm, 150.0))
        return (self.day.baro_kpa + self.boost) * (0.14 + 0.86 * filling)

    def _charge(self, kpa: float, rpm: float) -> float:
        """Grams of air in a cylinder; it breathes best at 62 % of the redline."""
        breathing = 0.98 - 0.55 * (rpm / self.vehicle.redline - 0.62) ** 2
        return breathing * self._full_g(kpa, 0.7 * self.intake_c + 0.3 * self.coolant_c)

    def _fired(self, air_g: float, spark: float, rpm: float) -> float:
        rad_s = rpm * math.pi / 30.0
        air = air_g * self.vehicle.cylinders / 4.0 / self._size
        afr = STOICHIOMETRIC * self.lambda_wanted
        return self._size * crossley_cook(air, afr, min(spark, 2 * best_spark(air, rad_s)), rad_s)

    def _burn(self, pedal: float, spark: float) -> None:
        self.air_g = self._charge(self.map, self.rpm)
        self.limiting = self.rpm > self.limit or (self.limiting and self.rpm > self.limit - 140.0)
        above = FUEL_CUT_ABOVE - (200.0 if self.no_fuel else 0.0)
        self.no_fuel = pedal < 1.0 and self.rpm > max(above, 1.7 * self.idle_target)
        if not self.turning:
            self.torque = 0.0
        elif self.limiting or self.no_fuel or self.cut or self.turned_for < FIRES_AFTER:
            self.torque = -self._size * (18.0 + 0.075 * self.rpm * math.pi / 30.0)
        else:
            self.torque = self._fired(self.air_g, spark, self.rpm)

    def _idle_control(self, dt: float, pedal: float) -> None:
        if pedal < 1.0 and self.rpm < 2.5 * self.idle_target:
            self.idle_air += (self.idle_target - self.rpm) * dt * 1.2e-5
            self.idle_air = min(max(self.idle_air, 0.003), 0.08)

    def _bypass(self, pedal: float) -> float:
        """Air past the closed plate: what idle control has learnt, and a quick push."""
        if pedal >= 1.0 or self.rpm > 2.5 * self.idle_target:
            return self.idle_air
        return max(0.003, self.idle_air + (self.idle_target - self.rpm) * 1.6e-5)

    def _warm(self, dt: float, pedal: float) -> None:
        v, day = self.vehicle, self.day
        power = max(self.torque, 0.0) * self.rpm / 9549.0 / v.displacement_l  # kW per litre
        soak = day.soak_c * math.exp(-self.rpm * max(self.map, 20.0) / 4.5e5)
        compressed = self.boost * 0.55 * (1.0 - v.intercooler)
        wanted = day.air_c + soak + compressed
        self.intake_c += (wanted - self.intake_c) * dt / (3.5 if wanted > self.intake_c else 7.0)
        if self.turning:
            thermostat = min(max((self.coolant_c - 84.0) / 8.0, 0.0), 1.0)
            cooling = (0.05 + 0.5 * thermostat + 0.3 * self.fan) * (self.coolant_c - day.air_c) / 70
            self.coolant_c += dt * (0.14 + 0.011 * power - cooling)
            self.oil_c += dt * (0.02 + 0.008 * power - (self.oil_c - self.coolant_c) * 0.004)
            self.since_start += dt
        self.fan = self.coolant_c > 95.0 or (self.fan and self.coolant_c > 91.0)
        supply = 13.9 * v.alternator if self.rpm > 500.0 else 12.4
        sag = 0.35 * self.fan + 0.25 * (self.rpm < 1100.0) + (1.0 - v.alternator) * power / 25.0
        self.volts += (supply - sag - self.volts) * min(1.0, dt / 0.15)
        late = max(0.0, best_spark(self.air_g, self.rpm * math.pi / 30.0) - self.spark)
        hot = 330.0 + 5.2 * power + 0.03 * self.rpm + 4.0 * late * (pedal > 20.0)
        self.exhaust_c += (hot - self.exhaust_c) * dt / 1.3
        seen = 1.45 if self.no_fuel else self.lambda_wanted
        self.lambda_measured += (seen - self.lambda_measured) * min(1.0, dt / 0.09)
