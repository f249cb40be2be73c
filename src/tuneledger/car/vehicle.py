"""What a vehicle is: engine, driveline, hull or wheels, and the day on which it runs.

Every number is invented for vehicles of our own; none describes a real one.
"""

from tuneledger.record import record


@record
class Vehicle:
    """One vehicle. Speeds in rpm, pressures in kPa, lengths in m, masses in kg.

    gears:      overall ratios, engine to wheel, first gear first; () for a boat
    boost_kpa:  highest boost above the outside air; 0 without a turbocharger
    propeller:  torque in N·m at the redline that the propeller takes (a boat), else 0
    """

    name: str
    cylinders: int
    displacement_l: float
    redline: float
    idle: float
    boost_kpa: float = 0.0
    gears: tuple[float, ...] = (13.2, 8.6, 6.3, 5.0, 4.1)
    mass_kg: float = 1050.0
    drag_m2: float = 0.72
    tyre_m: float = 0.30
    grip: float = 1.15
    propeller: float = 0.0
    inertia: float = 0.16
    launch_rpm: float = 4200.0
    oil_pump: float = 1.0
    fuel_pump: float = 1.0
    alternator: float = 1.0
    intercooler: float = 0.62

    @property
    def is_boat(self) -> bool:
        return self.propeller > 0

    @property
    def turbo(self) -> bool:
        return self.boost_kpa > 0


@record
class Day:
    """The weather and what the vehicle has been through before the log begins."""

    air_c: float = 22.0
    baro_kpa: float = 98.0
    coolant_c: float = 86.0
    oil_c: float = 84.0
    intake_c: float | None = None  # None: as the outside air
    fuel_c: float = 28.0
    ethanol: float = 6.0
    soak_c: float = 14.0  # how far above the outside air the intake gets while standing
    climb: float = 0.0  # gradient, metres up per metre


KESTREL = Vehicle("Kestrel hill-climb car", 4, 1.9, 7400.0, 950.0, boost_kpa=105.0, mass_kg=980.0)
TURNSTONE = Vehicle(
    "Turnstone trackday car", 4, 2.2, 7900.0, 1000.0, gears=(12.4, 8.9, 6.9, 5.6, 4.8)
)
WHIMBREL = Vehicle(
    "Whimbrel rally van", 5, 2.5, 6400.0, 820.0, boost_kpa=85.0, mass_kg=1720.0, drag_m2=1.05,
    tyre_m=0.33, inertia=0.24, launch_rpm=3600.0,
)  # fmt: skip
GANNET = Vehicle(
    "Gannet standing-mile car", 8, 4.4, 7000.0, 880.0, boost_kpa=140.0, mass_kg=1510.0,
    inertia=0.34, gears=(10.8, 7.3, 5.4, 4.2, 3.4), grip=1.3, launch_rpm=3900.0,
)  # fmt: skip
GUILLEMOT = Vehicle(
    "Guillemot harbour launch", 6, 3.8, 5400.0, 720.0, gears=(), mass_kg=1900.0,
    propeller=250.0, inertia=0.45,
)  # fmt: skip
DUNLIN = Vehicle(
    "Dunlin kart", 2, 0.68, 9200.0, 1450.0, gears=(11.0, 8.8, 7.4, 6.4), mass_kg=310.0,
    drag_m2=0.5, tyre_m=0.23, inertia=0.035, launch_rpm=5600.0,
)  # fmt: skip
AVOCET = Vehicle(
    "Avocet estate car", 4, 1.6, 6600.0, 800.0, gears=(13.9, 7.9, 5.3, 4.0, 3.2), mass_kg=1320.0,
    drag_m2=0.66, tyre_m=0.31, launch_rpm=3000.0,
)  # fmt: skip

VEHICLES = (KESTREL, TURNSTONE, WHIMBREL, GANNET, GUILLEMOT, DUNLIN, AVOCET)
