"""An advance left over under a name that says something else is named as perhaps scheduled."""

import numpy as np
import pytest

from tests.roles.dressing import make_log
from tests.roles.drives import drive
from tuneledger.roles import Roles, identify

QUANTITIES = (
    "engine speed",
    "manifold absolute pressure",
    "throttle position",
    "intake air temperature",
    "engine coolant temperature",
    "vehicle speed",
    "delivered advance",
)


def beside(name: str, seed: int, what: str = "scheduled advance") -> Roles:
    d = drive(seed, 60)
    columns = {q: d.quantities[q] for q in QUANTITIES}
    values = d.quantities[what][0] if what else 20.0 + 15.0 * np.sin(d.times / 3.0)
    return identify(make_log(columns | {name: (values, "deg")}, d.times))


def perhaps(roles: Roles) -> list[str]:
    names = [r.channel.name for r in roles.by_signal.values() if r.signal == "scheduled advance"]
    doubts = [d for d in roles.doubts if d.signal == "scheduled advance"]
    return names + [channel.name for d in doubts for channel, _ in d.candidates]


@pytest.mark.parametrize("name", ["xq vlf", "Kąt", "Vorlauf", "Clutch", "Fuel", "Avance clutch"])
@pytest.mark.parametrize("seed", [330, 331])
def test_what_runs_as_delivered_does_may_be_scheduled_whatever_it_is_called(
    name: str, seed: int
) -> None:
    assert perhaps(beside(name, seed)) == [name]


@pytest.mark.parametrize(("name", "what"), [("Ign Cyl 3", "scheduled advance"), ("Cam angle", "")])
def test_one_cylinder_s_advance_and_another_angle_are_not_named(name: str, what: str) -> None:
    assert perhaps(beside(name, 330, what)) == []


@pytest.mark.parametrize(
    "name", ["Avance prog.", "Avance programado", "Avance programmée", "Anticipo programmato"]
)
def test_programmed_is_what_is_asked_for(name: str) -> None:
    roles = beside(name, 330)
    assert roles.by_signal["scheduled advance"].channel.name == name
