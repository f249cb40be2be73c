"""Formulas out of files. What they give is held against Python's own reading of the same text."""

import inspect
import math
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tuneledger.formula import read_formula

STORED = np.array([-3.0, 0.0, 0.25, 7.0, 250.0])

_number = st.integers(0, 999).map(str) | st.floats(0, 99).map("{:.3f}".format)
FORMULAS = st.recursive(
    _number | st.just("X"),
    lambda part: st.one_of(
        st.tuples(part, st.sampled_from("+-*/"), part).map(" ".join),
        part.map("({})".format),
        part.map("-{}".format),
        st.tuples(st.sampled_from(["abs", "sin", "cos"]), part).map("{0[0]}({0[1]})".format),
    ),
    max_leaves=12,
)


@given(FORMULAS)
def test_it_means_what_it_means_everywhere(text: str) -> None:
    found = read_formula(text)(STORED)
    names = {"abs": abs, "sin": math.sin, "cos": math.cos}
    for stored, value in zip(STORED, found, strict=True):
        try:
            wanted = eval(text, {"__builtins__": {}}, {**names, "X": float(stored)})
        except ZeroDivisionError:
            continue  # where a number comes out all the same, it came from x / (1 / 0)
        assert value == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("X1/4", [0.0, 0.25, 0.5]),
        ("x * 0.1 - 40", [-40.0, -39.9, -39.8]),
        ("2.5e-1*X+.5", [0.5, 0.75, 1.0]),
        ("pow(X, 2)", [0.0, 1.0, 4.0]),
        ("SQRT(4*X)", [0.0, 2.0, math.sqrt(8)]),
        ("10/X", [math.nan, 10.0, 5.0]),
        ("7", [7.0, 7.0, 7.0]),
    ],
)
def test_examples(text: str, wanted: list[float]) -> None:
    found = read_formula(text)(np.array([0.0, 1.0, 2.0]))
    assert found == pytest.approx(wanted, nan_ok=True)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "it ends too early"),
        ("(X", "it ends too early"),
        ("abs", "it ends too early"),
        ("X^2", "'^' is not understood"),
        ("log(X)", "'log' is not understood"),
        ("X2", "'X2' is not understood"),
        ("2X", "'X' is not understood"),
        ("X &", "'&' is not understood"),
        ("X)", "')' is not understood"),
        ("sqrt()", "')' is not understood"),
        ("pow(X)", "')' stands where ',' should"),
        ("X if X else 1", "'if' is not understood"),
        ("__import__('os')", "'_' is not understood"),
        ("X.real", "'.' is not understood"),
        ("X[0]", "'[' is not understood"),
        ("lambda: X", "'lambda' is not understood"),
        ("X;X", "';' is not understood"),
        ("X1 >> 2", "'>' is not understood"),
        ("1e", "'e' is not understood"),
        ("5,2", "',' is not understood"),
        ("(" * 500, "it is nested more than 40 deep, and no option lets that in"),
        (
            "abs(" * 300 + "X" + ")" * 300,
            "it is nested more than 40 deep, and no option lets that in",
        ),
        ("-" * 3000, "it is longer than 2,000 characters, and no option lets that in"),
    ],
)
def test_what_is_none_is_refused_with_the_reason(text: str, reason: str) -> None:
    with pytest.raises(ValueError, match=rf"^{re.escape(reason)}$"):
        read_formula(text)


@contextmanager
def shallow() -> Iterator[None]:
    """As few calls within calls as a command leaves to a formula: hypothesis allows thousands."""
    before = sys.getrecursionlimit()
    sys.setrecursionlimit(len(inspect.stack(0)) + 400)
    try:
        yield
    finally:
        sys.setrecursionlimit(before)


SIGNS = st.text(st.sampled_from("X1+-*/(), "), max_size=12)
REPEATED = st.builds(str.__mul__, SIGNS, st.integers(1, 900))


@given(st.text(max_size=60) | st.tuples(REPEATED, SIGNS).map("".join))
@example("X" + "+1" * 990)
@example("1*" * 990 + "X")
@example("(" * 40 + "X" + "+1" * 800 + ")" * 40)
def test_no_text_breaks_it(text: str) -> None:
    try:
        with shallow():
            found = read_formula(text)(STORED)
    except ValueError:
        return
    assert found.shape == STORED.shape


@given(st.lists(st.tuples(st.sampled_from("+-"), st.integers(0, 9)), max_size=990))
@example([("+", 1)] * 990)
def test_as_many_terms_as_fit_are_added_up(terms: list[tuple[str, int]]) -> None:
    text = "X" + "".join(f"{sign}{number}" for sign, number in terms)
    added = sum(number if sign == "+" else -number for sign, number in terms)
    with shallow():
        found = read_formula(text)(STORED)
    assert found == pytest.approx(STORED + added)


def test_terms_are_taken_from_left_to_right() -> None:
    assert read_formula("X-1-1-1")(STORED) == pytest.approx(STORED - 3)
    assert read_formula("X/2/2*4")(STORED) == pytest.approx(STORED)
    assert read_formula("pow(2, X-1)/pow(X, 0)")(np.array([3.0])) == pytest.approx([4.0])
