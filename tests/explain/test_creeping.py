"""What only creeps one way through a log goes by as time does: a curve along it proves little."""

from dataclasses import replace

import numpy as np
import pytest

from tests.explain.labelled import written
from tests.explain.test_hidden_rules import rules, stabs
from tuneledger.arrays import FloatArray
from tuneledger.explain.model import Cause

STABS = stabs()
AIR = np.round(31.0 + np.sin(0.2 * STABS.times), 1)
RUN = replace(STABS, signals={**STABS.signals, "intake air temperature": AIR})
SHARE = RUN.times / RUN.times[-1]
ROSE = np.round(22.0 + 60.0 * (1.0 - np.exp(-1.2 * SHARE)) / (1.0 - np.exp(-1.2)), 1)


def follows(name: str, **also: FloatArray) -> Cause:
    """A retard along the one temperature that rose all through the log and stands under this
    name."""
    run = RUN.post("x", np.round(np.interp(ROSE, [20.0, 64.0], [-6.0, 0.0]), 1))
    for other, values in {name: ROSE, **also}.items():
        run = run.carry(other.replace("_", " "), values)
    labels = [other.replace("_", " ") for other in (name, *also)]
    (cause,) = rules(written(run, units=dict.fromkeys(labels, "degC")))
    assert cause.rule is not None
    assert cause.rule.along is not None
    assert cause.rule.along.channel == name
    return cause


@pytest.mark.parametrize("name", ["Gearbox temp", "Rear tyre", "Oil temp"])
def test_a_curve_along_what_only_crept_is_no_more_than_suspected(name: str) -> None:
    cause = follows(name)
    assert cause.certainty < 0.8
    against = [point.says for point in cause.evidence if point.speaks == "against"]
    assert any("only crept one way" in says for says in against)


def test_one_warm_up_is_enough_for_a_curve_along_the_coolant() -> None:
    assert follows("Coolant temp").certainty >= 0.8


def test_oil_that_warms_while_the_coolant_is_at_its_thermostat_is_believed() -> None:
    settled = np.round(88.0 + np.sin(RUN.times), 1)
    assert follows("Oil temp", Coolant_temp=settled).certainty >= 0.8
