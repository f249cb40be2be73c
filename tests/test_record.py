"""A record: what all records do alike."""

import pickle
from dataclasses import field, replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.record import record


@record
class Cell:
    rpm: float
    load: float = 1.0
    seen: int = field(default=0, compare=False, repr=False)


@record
class Point:
    rpm: float
    load: float = 1.0


@record(eq=False)
class Series:
    values: FloatArray


def test_records_with_equal_fields_are_equal_and_hash_alike() -> None:
    assert Cell(900.0) == Cell(900.0, 1.0)
    assert hash(Cell(900.0)) == hash(Cell(900.0, 1.0))
    assert Cell(900.0) != Cell(901.0)


def test_records_of_two_classes_are_never_equal() -> None:
    assert Cell(900.0) != Point(900.0)


def test_a_field_left_out_of_comparison_counts_neither_for_equality_nor_for_show() -> None:
    assert Cell(900.0, seen=3) == Cell(900.0, seen=4)
    assert repr(Cell(900.0, seen=3)) == "Cell(rpm=900.0, load=1.0)"


def test_a_record_that_holds_arrays_is_equal_to_itself_alone() -> None:
    series = Series(np.arange(3.0))
    assert series == series  # noqa: PLR0124
    assert series != Series(series.values)
    assert len({series, Series(series.values)}) == 2


def test_a_record_can_be_replaced_and_sent_to_another_process() -> None:
    assert replace(Cell(900.0), load=0.5) == Cell(900.0, 0.5)
    assert pickle.loads(pickle.dumps(Cell(900.0))) == Cell(900.0)
