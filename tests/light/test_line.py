"""The line and its intervals against independent statistics and certified values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from sklearn.linear_model import LinearRegression

from tuneledger.light.line import fit_line
from tuneledger.light.student import central, two_sided

# Norris data set: NIST Statistical Reference Datasets, linear regression, "lower" level of
# difficulty (calibration of ozone monitors), with NIST's certified values.
NORRIS_X = (
    "0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 "
    "447.5 11.6 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 "
    "229.2 669.1 448.9 0.5"
)
NORRIS_Y = (
    "0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 "
    "448.9 10.8 557.7 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 "
    "228.9 668.4 449.2 0.2"
)


def numbers(text: str) -> np.ndarray:
    return np.array([float(part) for part in text.split()])


def test_the_norris_data_give_the_values_that_nist_certifies() -> None:
    line = fit_line(numbers(NORRIS_X), numbers(NORRIS_Y))
    assert line is not None
    assert line.freedom == 34
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-12)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert line.intercept_error == pytest.approx(0.232818234301152, rel=1e-12)
    assert line.slope_error == pytest.approx(0.429796848199937e-03, rel=1e-12)
    assert line.residual == pytest.approx(0.884796396144373, rel=1e-12)


speeds = st.lists(st.integers(400, 9000), min_size=3, max_size=30).filter(lambda x: len(set(x)) > 1)


@given(speeds, st.integers(0, 2**32 - 1))
def test_any_readings_give_what_two_regression_libraries_give(x: list[int], seed: int) -> None:
    rpm = np.array(x, dtype=float)
    off = np.random.default_rng(seed).normal(1.0, 2.0, rpm.size)
    line = fit_line(rpm, off)
    assert line is not None
    scipys = stats.linregress(rpm, off)
    sklearns = LinearRegression().fit(rpm[:, None], off)
    assert line.slope == pytest.approx(scipys.slope, rel=1e-8, abs=1e-12)
    assert line.slope == pytest.approx(float(sklearns.coef_[0]), rel=1e-6, abs=1e-12)
    assert line.intercept == pytest.approx(scipys.intercept, rel=1e-8, abs=1e-9)
    assert line.intercept == pytest.approx(float(sklearns.intercept_), rel=1e-6, abs=1e-9)
    half = stats.t.ppf(0.975, rpm.size - 2)
    low, high = line.slope_interval
    assert low == pytest.approx(scipys.slope - half * scipys.stderr, rel=1e-6, abs=1e-9)
    assert high == pytest.approx(scipys.slope + half * scipys.stderr, rel=1e-6, abs=1e-9)
    low, high = line.intercept_interval
    width = half * scipys.intercept_stderr
    assert low == pytest.approx(scipys.intercept - width, rel=1e-6, abs=1e-6)
    assert high == pytest.approx(scipys.intercept + width, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 8, 9, 17, 30, 101, 2000])
@pytest.mark.parametrize("share", [0.5, 0.9, 0.95, 0.99, 0.9996])
def test_students_t_is_scipys(share: float, freedom: int) -> None:
    t = two_sided(share, freedom)
    assert t == pytest.approx(stats.t.ppf(0.5 + share / 2, freedom), rel=1e-9)
    assert central(t, freedom) == pytest.approx(share, abs=1e-12)


@pytest.mark.parametrize(
    ("freedom", "t"), [(1, 12.706), (2, 4.303), (4, 2.776), (10, 2.228), (30, 2.042), (120, 1.980)]
)
def test_students_t_is_that_of_the_printed_table(freedom: int, t: float) -> None:
    """Table of t at 95 %, two-sided: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2."""
    assert two_sided(0.95, freedom) == pytest.approx(t, abs=0.0006)


def test_one_speed_makes_no_line() -> None:
    assert fit_line(np.full(5, 900.0), np.arange(5.0)) is None


def test_two_readings_make_a_line_of_which_nothing_is_sure() -> None:
    line = fit_line(np.array([900.0, 3000.0]), np.array([2.0, 1.0]))
    assert line is not None
    assert line.intercept_interval == (-np.inf, np.inf)
