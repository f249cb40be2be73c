"""The units: one row each, with the base unit of its kind having the factor 1."""

from math import pi

from tuneledger.record import record


@record
class Unit:
    """A unit of one kind of quantity: base value = factor · number + offset.

    symbol: the one spelling that this program writes (`degC`, `kPa`, `rpm`, `deg`, `%`)
    kind:   "angle", "pressure", "temperature", "rotation", "speed", "voltage", "ratio", "time", …
    gauge:  True above the outside air, False absolute, None where the label does not say
    """

    symbol: str
    kind: str
    factor: float
    offset: float = 0.0
    gauge: bool | None = None


_PSI = 6.894757  # kPa, NIST SP 811 B.8 "pound-force per square inch"
_KMH_PER_KNOT = 1.852  # exact, NIST SP 811 table 8
_LBF_FT = 1.355818  # N·m, NIST SP 811 B.8

UNITS = (
    # plain numbers; the ratio of air to gasoline by mass is common practice, no source
    Unit("", "number", 1.0),
    Unit("lambda", "number", 1.0),
    Unit("AFR", "number", 1.0 / 14.7),
    Unit("state", "state", 1.0),
    # ratio, base %
    Unit("%", "ratio", 1.0),
    Unit("1", "ratio", 100.0),
    Unit("‰", "ratio", 0.1),
    Unit("ppm", "ratio", 1e-4),
    # angle, base degree
    Unit("deg", "angle", 1.0),
    Unit("rad", "angle", 180.0 / pi),
    Unit("mrad", "angle", 0.18 / pi),
    # rotation, base revolution per minute
    Unit("rpm", "rotation", 1.0),
    Unit("krpm", "rotation", 1000.0),
    Unit("rps", "rotation", 60.0),
    Unit("rad/s", "rotation", 30.0 / pi),
    Unit("deg/s", "angle rate", 1.0),
    # pressure, base kPa
    Unit("kPa", "pressure", 1.0),
    Unit("kPaa", "pressure", 1.0, gauge=False),
    Unit("kPag", "pressure", 1.0, gauge=True),
    Unit("Pa", "pressure", 0.001),
    Unit("hPa", "pressure", 0.1),
    Unit("mbar", "pressure", 0.1),
    Unit("MPa", "pressure", 1000.0),
    Unit("bar", "pressure", 100.0),
    Unit("bara", "pressure", 100.0, gauge=False),
    Unit("barg", "pressure", 100.0, gauge=True),
    Unit("psi", "pressure", _PSI),
    Unit("psia", "pressure", _PSI, gauge=False),
    Unit("psig", "pressure", _PSI, gauge=True),
    Unit("inHg", "pressure", 3.386389),
    Unit("mmHg", "pressure", 0.1333224),
    Unit("atm", "pressure", 101.325),
    Unit("kgf/cm2", "pressure", 98.0665),
    Unit("inH2O", "pressure", 0.2490889),
    # temperature, base degree Celsius
    Unit("degC", "temperature", 1.0),
    Unit("degF", "temperature", 5.0 / 9.0, -160.0 / 9.0),
    Unit("K", "temperature", 1.0, -273.15),
    # speed, base km/h
    Unit("km/h", "speed", 1.0),
    Unit("mph", "speed", 1.609344),
    Unit("m/s", "speed", 3.6),
    Unit("ft/s", "speed", 1.09728),
    Unit("kn", "speed", _KMH_PER_KNOT),
    # electricity
    Unit("V", "voltage", 1.0),
    Unit("mV", "voltage", 0.001),
    Unit("A", "current", 1.0),
    Unit("mA", "current", 0.001),
    Unit("ohm", "resistance", 1.0),
    # time, base second
    Unit("s", "time", 1.0),
    Unit("ms", "time", 0.001),
    Unit("us", "time", 1e-6),
    Unit("min", "time", 60.0),
    Unit("h", "time", 3600.0),
    # frequency, base hertz
    Unit("Hz", "frequency", 1.0),
    Unit("kHz", "frequency", 1000.0),
    # length, base metre
    Unit("m", "length", 1.0),
    Unit("mm", "length", 0.001),
    Unit("cm", "length", 0.01),
    Unit("km", "length", 1000.0),
    Unit("in", "length", 0.0254),
    Unit("ft", "length", 0.3048),
    Unit("mi", "length", 1609.344),
    # mass and its flow
    Unit("kg", "mass", 1.0),
    Unit("gram", "mass", 0.001),
    Unit("mg", "mass", 1e-6),
    Unit("lb", "mass", 0.4535924),
    Unit("g/s", "mass flow", 1.0),
    Unit("kg/h", "mass flow", 1.0 / 3.6),
    Unit("lb/min", "mass flow", 7.559873),
    # air or fuel of one cylinder filling, base milligram; of one turn of the crank, base gram
    Unit("mg/stroke", "mass per stroke", 1.0),
    Unit("g/stroke", "mass per stroke", 1000.0),
    Unit("g/rev", "mass per turn", 1.0),
    # volume and its flow
    Unit("l", "volume", 1.0),
    Unit("ml", "volume", 0.001),
    Unit("gal", "volume", 3.785412),
    Unit("l/h", "volume flow", 1.0),
    Unit("l/min", "volume flow", 60.0),
    Unit("ml/min", "volume flow", 0.06),
    Unit("gal/h", "volume flow", 3.785412),
    # acceleration, force, torque, power
    Unit("g", "acceleration", 9.80665),
    Unit("m/s2", "acceleration", 1.0),
    Unit("N", "force", 1.0),
    Unit("Nm", "torque", 1.0),
    Unit("lbf.ft", "torque", _LBF_FT),
    Unit("kW", "power", 1.0),
    Unit("W", "power", 0.001),
    Unit("hp", "power", 0.7456999),
    Unit("PS", "power", 0.7354988),
)
"""Pressures in inHg and mmHg are the conventional ones; inH2O is the conventional one."""
