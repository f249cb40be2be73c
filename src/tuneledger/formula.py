"""Formulas out of files: arithmetic on one number, read by a grammar and by nothing else.

A file may say in a formula how a stored number becomes the physical one (ASAM MDF: an algebraic
conversion; ASAM MCD-2 MC: FORM). It comes from a stranger, so no interpreter of any language gets
to see it. What could mean two things is refused, not guessed: `log` without a base, and `^`, a
power to one reader and an exclusive or to another.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np

from tuneledger.arrays import FloatArray

Formula = Callable[[FloatArray], FloatArray]
"""From stored numbers to physical ones; NaN where a number has no physical one."""

_TOKEN = re.compile(r"\s*(?:(\d+\.?\d*(?:[eE][+-]?\d+)?|\.\d+(?:[eE][+-]?\d+)?)|([A-Za-z]\w*)|(.))")
_LONGEST, _DEEPEST = 2000, 40
_STORED = ("x", "x1")
_FUNCTIONS: dict[str, Callable[..., FloatArray]] = {
    "abs": np.abs,
    "sqrt": np.sqrt,
    "exp": np.exp,
    "ln": np.log,
    "log10": np.log10,
    "sin": np.sin,
    "cos": np.cos,
    "tan": np.tan,
    "asin": np.arcsin,
    "arcsin": np.arcsin,
    "acos": np.arccos,
    "arccos": np.arccos,
    "atan": np.arctan,
    "arctan": np.arctan,
    "sinh": np.sinh,
    "cosh": np.cosh,
    "tanh": np.tanh,
}
_OF_TWO: dict[str, Callable[..., FloatArray]] = {"pow": np.power}
_SIGNS: dict[str, Callable[..., FloatArray]] = {
    "+": np.add,
    "-": np.subtract,
    "*": np.multiply,
    "/": np.divide,
}

_Step = tuple[int, Callable[..., Any]]
"""How many of the values found last a step takes, and what it makes of them.

One that takes none makes its value of the stored numbers. Steps stand one behind the other, so that
a formula of a thousand terms needs no more depth than one of two.
"""


def read_formula(text: str) -> Formula:
    """A formula of X or X1, the stored number. ValueError, with what it was, where it is none."""
    if len(text) > _LONGEST:
        raise ValueError(f"it is longer than {_LONGEST:,} characters, and no option lets that in")
    reader = _Reader(_tokens(text))
    steps = tuple(reader.sum(0))
    if reader.next is not None:
        raise ValueError(f"'{reader.next}' is not understood")

    def carried_out(stored: FloatArray) -> FloatArray:
        with np.errstate(all="ignore"):
            value = _worked(steps, stored.astype(np.float64))
        found: FloatArray = np.broadcast_to(value, stored.shape).copy()
        found[~np.isfinite(found)] = np.nan
        return found

    return carried_out


def _worked(steps: Sequence[_Step], stored: FloatArray) -> Any:
    found: list[Any] = []
    for takes, work in steps:
        if takes:
            found[-takes:] = [work(*found[-takes:])]
        else:
            found.append(work(stored))
    return found[0]


def _tokens(text: str) -> list[str]:
    return ["".join(parts) for parts in _TOKEN.findall(text.rstrip())]


class _Reader:
    """Descends through sums, products and signs to numbers, X, functions and brackets.

    Each gives its steps, those of what it works on first.
    """

    def __init__(self, tokens: list[str]) -> None:
        self._left = tokens[::-1]

    @property
    def next(self) -> str | None:
        return self._left[-1] if self._left else None

    def sum(self, depth: int) -> Iterator[_Step]:
        if depth > _DEEPEST:
            raise ValueError(f"it is nested more than {_DEEPEST} deep, and no option lets that in")
        yield from self._product(depth)
        while self.next in ("+", "-"):
            sign = self._take()
            yield from self._product(depth)
            yield 2, _SIGNS[sign]

    def _product(self, depth: int) -> Iterator[_Step]:
        yield from self._signed(depth)
        while self.next in ("*", "/"):
            sign = self._take()
            yield from self._signed(depth)
            yield 2, _SIGNS[sign]

    def _signed(self, depth: int) -> Iterator[_Step]:
        turned = False
        while self.next in ("+", "-"):
            turned ^= self._take() == "-"
        yield from self._one(depth)
        if turned:
            yield 1, np.negative

    def _one(self, depth: int) -> Iterator[_Step]:
        token = self._take()
        name = token.casefold()
        if token[0].isdecimal() or token[0] == ".":
            number = np.float64(token)
            yield 0, lambda stored: number
        elif token == "(":
            yield from self.sum(depth + 1)
            self._expect(")")
        elif name in _STORED:
            yield 0, lambda stored: stored
        elif name in _FUNCTIONS:
            yield from self._arguments(1, depth)
            yield 1, _FUNCTIONS[name]
        elif name in _OF_TWO:
            yield from self._arguments(2, depth)
            yield 2, _OF_TWO[name]
        else:
            raise ValueError(f"'{token[:20]}' is not understood")

    def _arguments(self, wanted: int, depth: int) -> Iterator[_Step]:
        self._expect("(")
        yield from self.sum(depth + 1)
        for _ in range(wanted - 1):
            self._expect(",")
            yield from self.sum(depth + 1)
        self._expect(")")

    def _take(self) -> str:
        if not self._left:
            raise ValueError("it ends too early")
        return self._left.pop()

    def _expect(self, wanted: str) -> None:
        found = self._take()
        if found != wanted:
            raise ValueError(f"'{found[:20]}' stands where '{wanted}' should")
