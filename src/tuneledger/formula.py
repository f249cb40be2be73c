"""Formulas out of files: arithmetic on one number, read by a grammar and by nothing else.

A file may say in a formula how a stored number becomes the physical one (ASAM MDF: an algebraic
conversion; ASAM MCD-2 MC: FORM). It comes from a stranger, so no interpreter of any language gets
to see it. What could mean two things is refused, not guessed: `log` without a base, and `^`, a
power to one reader and an exclusive or to another.
"""

import re
from collections.abc import Callable

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


def read_formula(text: str) -> Formula:
    """A formula of X or X1, the stored number. ValueError, with what it was, where it is none."""
    if len(text) > _LONGEST:
        raise ValueError("it is too long")
    reader = _Reader(_tokens(text))
    work = reader.sum(0)
    if reader.next is not None:
        raise ValueError(f"'{reader.next}' is not understood")

    def carried_out(stored: FloatArray) -> FloatArray:
        with np.errstate(all="ignore"):
            found = np.broadcast_to(work(stored.astype(np.float64)), stored.shape).copy()
        found[~np.isfinite(found)] = np.nan
        return found

    return carried_out


def _tokens(text: str) -> list[str]:
    return ["".join(parts) for parts in _TOKEN.findall(text.rstrip())]


class _Reader:
    """Descends through sums, products and signs to numbers, X, functions and brackets."""

    def __init__(self, tokens: list[str]) -> None:
        self._left = tokens[::-1]

    @property
    def next(self) -> str | None:
        return self._left[-1] if self._left else None

    def sum(self, depth: int) -> Formula:
        if depth > _DEEPEST:
            raise ValueError("it is nested too deeply")
        found = self._product(depth)
        while self.next in ("+", "-"):
            found = _joined(self._take(), found, self._product(depth))
        return found

    def _product(self, depth: int) -> Formula:
        found = self._signed(depth)
        while self.next in ("*", "/"):
            found = _joined(self._take(), found, self._signed(depth))
        return found

    def _signed(self, depth: int) -> Formula:
        turned = False
        while self.next in ("+", "-"):
            turned ^= self._take() == "-"
        found = self._one(depth)
        return (lambda x: -found(x)) if turned else found

    def _one(self, depth: int) -> Formula:
        token = self._take()
        if token[0].isdecimal() or token[0] == ".":
            number = float(token)
            return lambda x: np.full(x.shape, number)
        if token == "(":
            found = self.sum(depth + 1)
            self._expect(")")
            return found
        name = token.casefold()
        if name in _STORED:
            return lambda x: x
        if name in _FUNCTIONS:
            return _applied(_FUNCTIONS[name], self._arguments(1, depth))
        if name in _OF_TWO:
            return _applied(_OF_TWO[name], self._arguments(2, depth))
        raise ValueError(f"'{token[:20]}' is not understood")

    def _arguments(self, wanted: int, depth: int) -> list[Formula]:
        self._expect("(")
        found = [self.sum(depth + 1)]
        for _ in range(wanted - 1):
            self._expect(",")
            found.append(self.sum(depth + 1))
        self._expect(")")
        return found

    def _take(self) -> str:
        if not self._left:
            raise ValueError("it ends too early")
        return self._left.pop()

    def _expect(self, wanted: str) -> None:
        found = self._take()
        if found != wanted:
            raise ValueError(f"'{found[:20]}' stands where '{wanted}' should")


def _joined(sign: str, one: Formula, other: Formula) -> Formula:
    work: Callable[..., FloatArray] = {
        "+": np.add,
        "-": np.subtract,
        "*": np.multiply,
        "/": np.divide,
    }[sign]
    return _applied(work, [one, other])


def _applied(work: Callable[..., FloatArray], arguments: list[Formula]) -> Formula:
    return lambda x: work(*(argument(x) for argument in arguments))
