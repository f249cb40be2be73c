"""The vocabulary of signals: names after SAE J1979 and J1930, own units, and what each can be.

`lowest` and `highest` are the widest values that a healthy signal takes on an engine; an audit
takes a correction's reach over them and the roles use them as plausibility. Spans from SAE J1979
scaling are marked; the rest is common practice, no source.
"""

from tuneledger.record import record


@record
class Signal:
    """One quantity. `unit` is its own unit (a spelling of `units`), in which ranges are given."""

    name: str
    unit: str
    lowest: float
    highest: float
    says: str


_ALL = (
    Signal("time", "s", 0.0, 1e9, "seconds from the log's first sample"),
    Signal("engine speed", "rpm", 0.0, 12000.0, "crankshaft speed"),
    Signal("engine load", "%", 0.0, 300.0, "air per stroke against a full cylinder"),
    Signal("manifold absolute pressure", "kPa", 5.0, 450.0, "pressure in the intake manifold"),
    Signal("barometric pressure", "kPa", 45.0, 110.0, "pressure of the outside air"),
    Signal("throttle position", "%", 0.0, 100.0, "opening of the throttle plate"),
    Signal("accelerator position", "%", 0.0, 100.0, "travel of the pedal"),
    Signal("engine coolant temperature", "degC", -40.0, 150.0, "coolant"),
    Signal("intake air temperature", "degC", -40.0, 150.0, "air that enters the engine"),
    Signal("oil temperature", "degC", -40.0, 180.0, "engine oil"),
    Signal("fuel temperature", "degC", -40.0, 120.0, "fuel"),
    Signal("oil pressure", "kPa", 0.0, 1200.0, "engine oil, above the outside air"),
    Signal("fuel pressure", "kPa", 0.0, 25000.0, "fuel, above the outside air or the manifold"),
    Signal("module voltage", "V", 0.0, 20.0, "supply of the control unit"),
    Signal("vehicle speed", "km/h", 0.0, 450.0, "road speed"),
    Signal("gear", "", -1.0, 10.0, "selected gear, 0 is neutral"),
    Signal("ethanol content", "%", 0.0, 100.0, "share of ethanol in the fuel"),
    Signal("idle speed target", "rpm", 300.0, 3000.0, "engine speed that idle control aims for"),
    Signal("scheduled advance", "deg", -64.0, 63.5, "what the main map asks for"),
    Signal("delivered advance", "deg", -64.0, 63.5, "what the ECU reports that it used"),
    Signal("knock level", "V", 0.0, 10.0, "strength of the knock signal"),
    Signal("commanded lambda", "", 0.4, 2.0, "air-fuel ratio asked for, 1 is stoichiometric"),
    Signal("measured lambda", "", 0.4, 2.0, "air-fuel ratio measured, 1 is stoichiometric"),
)

SIGNALS: dict[str, Signal] = {signal.name: signal for signal in _ALL}
