"""A moment left over within what is explained is told, and does not undo the explanation."""

import numpy as np

from tests.explain.parts import during, pulling, with_lever
from tests.explain.told import kinds, told
from tests.runs import climb, sheet

RUN = climb()


def test_what_is_left_for_a_moment_within_an_episode_leaves_it_explained() -> None:
    more = np.where(during(RUN, 29.02, 29.12), -1.6, 0.0)
    run = with_lever(RUN).post("x", pulling(RUN, -4.0) + more)
    statement = told(run, sheet("rev-d.toml", "D"))
    assert kinds(statement) == ["hidden rule", "unknown"]
    assert statement.verdict == "explained"


def test_a_moment_that_stands_alone_is_not_explained() -> None:
    alone = np.where(during(RUN, 45.02, 45.12), -3.0, 0.0)
    run = with_lever(RUN).post("x", pulling(RUN, -4.0) + alone)
    statement = told(run, sheet("rev-d.toml", "D"))
    assert statement.verdict == "unexplained"
