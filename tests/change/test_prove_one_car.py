"""A proof over two cars proves nothing: it asks."""

from dataclasses import replace

import numpy as np

from tests.change.proofs import HOT, hot, proof
from tests.explain.told import told
from tests.runs import Run, climb
from tuneledger.change.proof_out import as_json
from tuneledger.change.prove import prove_statements


def test_drives_of_one_car_raise_no_question() -> None:
    assert proof(hot(climb()), climb(), HOT).doubts == ()


def test_other_gearing_raises_the_question_whether_it_is_one_car() -> None:
    geared = climb()
    gear = np.full(geared.times.shape, 3.0)
    speed = geared.signals["engine speed"]

    def turning(per_kmh: float) -> Run:
        road = np.round(speed / per_kmh, 1)
        return replace(geared, signals=geared.signals | {"vehicle speed": road, "gear": gear})

    made = proof(hot(turning(38.0)), turning(52.0), HOT)
    assert "Are both drives of one car?" in made.headline
    assert "in gear 3 the engine turns 38 rpm per km/h before and 52 after" in " ".join(made.doubts)
    assert as_json(made)["questions"]
    assert proof(hot(turning(38.0)), turning(39.0), HOT).doubts == ()


def test_no_boost_any_more_raises_the_question() -> None:
    run = climb()
    pressure = run.signals["manifold absolute pressure"]
    open_ = np.where(pressure > 120.0, 100.0, run.signals["throttle position"])
    one = replace(run, signals=run.signals | {"throttle position": open_})
    other = replace(
        one, signals=one.signals | {"manifold absolute pressure": np.minimum(pressure, 98.0)}
    )
    assert any("with the throttle open" in text for text in proof(one, other).doubts)


def test_a_log_of_other_names_raises_the_question() -> None:
    first, second = told(climb()), told(climb())
    log = second.logs[0].log
    renamed = replace(
        log, channels=tuple(replace(c, name=f"x{i}") for i, c in enumerate(log.channels))
    )
    other = replace(second, logs=(replace(second.logs[0], log=renamed),))
    made = prove_statements(first, other)
    assert any("0 channel names in common" in text for text in made.doubts)
