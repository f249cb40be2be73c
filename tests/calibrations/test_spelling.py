"""A misspelt key is told, and hides nothing of what stands below it or asks for it."""

from collections.abc import Iterator
from typing import Any

import pytest

from tests.calibrations.sheets import MAP, TOP, faults_of
from tuneledger.calibrations.check import examine
from tuneledger.calibrations.text import parse

FAULTY = """
format = "tuneledger-calibration/1"
revision = 3
title = 4
[engine]
cylinders = "four"
[audit]
band = { below_map = "x" }
[[audit.accepted]]
check = "flicker"
places = [3]
reason = "x"
of = "x"
[spark]
complete = 2
limits = { lowest = 9.0, highest = 3.0 }
scheduled_includes = ["none"]
[spark.map]
axes = [{ signal = "engine sped", unit = "rpm", at = [2, 1] }]
values = [1, "x"]
[[spark.correction]]
id = "a"
reason = "hot"
enabled = 1
logged_as = 3
range = [2, 1]
amount = 3
weight = { amount = 2 }
when = [
  { signal = "engine speed", above = "x", release = 2, held = -1 },
  { any = [{ channel = 3, between = [2, 1] }, { channel = "R", below = "y" }] },
  { since = { correction = "b", is = "active" }, below = "z" },
]
until = { signal = "engine speed", unit = "degC", above = 70 }
ramp = { down = -1, up = 2 }
"""


def keys(part: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The path of every key."""
    items = part.items() if isinstance(part, dict) else enumerate(part)
    for step, item in items:
        if isinstance(part, dict):
            yield (*path, step)
        if isinstance(item, dict | list):
            yield from keys(item, (*path, step))


def misspelt(raw: Any, path: tuple[Any, ...]) -> Any:
    """The tree with the last letter of one key twice."""
    step, *rest = path
    if not isinstance(raw, dict):
        return [misspelt(item, tuple(rest)) if n == step else item for n, item in enumerate(raw)]
    if rest:
        return {k: misspelt(v, tuple(rest)) if k == step else v for k, v in raw.items()}
    return {(k + k[-1] if k == step else k): v for k, v in raw.items()}


PATHS = [path for path in keys(parse(FAULTY)) if path[-1] not in ("format", "is", "at", "up", "of")]


@pytest.mark.parametrize("path", PATHS, ids=lambda path: ".".join(map(str, path)))
def test_every_fault_is_told_beside_any_misspelt_key(path: tuple[Any, ...]) -> None:
    _, plain = examine(parse(FAULTY))
    _, found = examine(misspelt(parse(FAULTY), path))
    slips = [one for one in found if one.found == "unknown key"]
    assert len(plain) > 20
    assert [one.do for one in slips] == [f'Did you mean "{path[-1]}"?']
    assert len(found) == len(plain) + 1
    others = [(one.found, one.expected) for one in found if one is not slips[0]]
    assert sorted(map(str, others)) == sorted(str((one.found, one.expected)) for one in plain)


def test_places_are_told_as_the_file_has_them() -> None:
    text = f'{TOP}{MAP}[[spark.corection]]\nid = "a"\nreson = "hot"\namount = "f"\n'
    assert [one.partition(";")[0] for one in faults_of(text)] == [
        'spark.corection: unknown key. Did you mean "correction"?',
        'spark.corection[0].reson: unknown key. Did you mean "reason"?',
        'spark.corection[0].reson: "hot"',
        'spark.corection[0].amount: "f"',
    ]


def test_a_key_that_is_there_already_is_not_meant_twice() -> None:
    text = f'{TOP}titel = 3\ntitle = "Kestrel"\n{MAP}'
    assert faults_of(text) == ['titel: unknown key. Did you mean "title"?']


def test_the_keys_that_the_audit_knows_are_those_of_the_audit() -> None:
    (told,) = faults_of(f"{TOP}{MAP}[audit]\nzzz = 1\n")
    assert told == "audit.zzz: unknown key. Known here are band and accepted."
