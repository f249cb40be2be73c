"""Corrections that people put into calibrations, with numbers that suit the drive at hand."""

from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np

from tuneledger.car.bench import Bench
from tuneledger.car.called import CALLED

Correction = dict[str, Any]
Maker = Callable[[Bench], Correction]


# no table of a person's goes from nothing to all within less than this
LEAST_REACH = {
    "intake air temperature": 9.0,
    "engine coolant temperature": 8.0,
    "oil temperature": 8.0,
    "module voltage": 0.6,
    "barometric pressure": 1.0,
}


def named(b: Bench, what: str, reason: str, **rest: Any) -> Correction:
    """A correction that is on, under an id and title that are drawn; `rest` are its further
    keys."""
    slug, title = b.pick(*CALLED[what])
    return {"id": slug, "title": title, "reason": reason, "enabled": True} | rest


def curve(
    b: Bench, key: str, knee: float, strength: float, falling: bool = False, acts: bool = True
) -> dict[str, Any]:
    """A one-axis table: nothing up to a knee (a quantile), then `strength` at the extreme.

    falling: it acts below the knee. acts: False moves it out of reach of the drive
    """
    at, low, high = b.at(key, knee), b.at(key, 0.0), b.at(key, 1.0)
    far, sign = (low, -1.0) if falling else (high, 1.0)
    reach = max(abs(far - at), 0.25 * abs(high - low), LEAST_REACH.get(key, 0.05 * abs(far)))
    at = far - sign * reach
    if not acts:
        at = far + sign * (0.5 * (high - low) + 0.15 * max(abs(far), 1.0))
    raw = [at + sign * share * reach for share in (-0.5, 0.0, 0.55, 1.0, 1.6)]
    if "temperature" not in key:
        raw = [max(x, 0.0) for x in raw]
    if "position" in key:
        raw = [min(x, 100.0) for x in raw]
    deg = [0.0, 0.0, strength * b.number(0.35, 0.6, 0.05), strength, strength * 1.3]
    points = [b.written(key, x) for x in raw]
    pairs = sorted(zip(points, deg, strict=True))
    keep = [pairs[0]] + [p for prev, p in pairwise(pairs) if p[0] > prev[0]]
    return {
        "axes": [b.reading(key) | {"at": [p[0] for p in keep]}],
        "values": [round(p[1], 1) + 0.0 for p in keep],
    }


def beyond(
    b: Bench, key: str, quantile: float, below: bool = False, release: float | None = None
) -> dict[str, Any]:
    """A condition on a quantity at a quantile of the drive; release in quantiles further back."""
    value = b.written(key, b.at(key, quantile))
    out = b.reading(key) | {"below" if below else "above": value}
    if release is not None:
        back = b.written(
            key, b.at(key, min(max(quantile + (release if below else -release), 0), 1))
        )
        if back != value:
            out["release"] = back
    return out


def retard(b: Bench, low: float = 2.5, high: float = 7.0) -> float:
    """An amount that takes advance: degrees, negative, between −low and −high."""
    return -b.number(low, high)


def air(b: Bench) -> Correction:
    """Takes advance as the charge air gets hot."""
    return named(b, "air", "air temperature", **curve(
        b, "intake air temperature", b.number(0.1, 0.5), retard(b, 3, 8)))  # fmt: skip


def air_by_load(b: Bench) -> Correction:
    """Two axes: hot air matters only under pressure."""
    table = curve(b, "intake air temperature", b.number(0.1, 0.4), retard(b, 4, 8))
    load = "manifold absolute pressure" if b.vehicle.turbo else "engine load"
    at = [b.written(load, b.at(load, q)) for q in (0.1, 0.5, 0.95)]
    if not at[0] < at[1] < at[2]:
        return named(b, "air", "air temperature", **table)
    rows = [[round(share * x, 1) + 0.0 for x in table["values"]] for share in (0.0, 0.5, 1.0)]
    axes = [b.reading(load) | {"at": at}, *table["axes"]]
    return named(b, "air", "air temperature", axes=axes, values=rows)


def coolant(b: Bench) -> Correction:
    """Takes advance as the coolant gets hot."""
    return named(b, "coolant", "coolant temperature", **curve(
        b, "engine coolant temperature", b.number(0.1, 0.5), retard(b, 3, 6)))  # fmt: skip


def cold(b: Bench) -> Correction:
    """Adds advance while cold, which may well be under load."""
    return named(b, "cold", "coolant temperature", **curve(
        b, "engine coolant temperature", 0.95, b.number(2, 5), falling=True))  # fmt: skip


def oil_heat(b: Bench) -> Correction:
    """Takes advance as the oil gets hot."""
    return named(b, "oil heat", "oil temperature", **curve(
        b, "oil temperature", b.number(0.2, 0.6), retard(b, 3, 6)))  # fmt: skip


def volts(b: Bench) -> Correction:
    """Takes advance as the supply sags."""
    return named(b, "volts", "battery voltage", **curve(
        b, "module voltage", b.number(0.4, 0.7), retard(b, 3, 6), falling=True))  # fmt: skip


def oil_guard(b: Bench) -> Correction:
    """Takes advance while the oil pressure is low above a speed, in part only once it is so for a
    while."""
    speed = beyond(b, "engine speed", b.number(0.1, 0.3))
    low = beyond(b, "oil pressure", b.number(0.15, 0.4), below=True, release=0.06)
    if b.rng.random() < 0.4:
        low["held"] = b.number(0.1, 0.3)
    return named(b, "oil guard", "sensor guard", amount=retard(b, 4, 8), when=[low, speed])


def fuel_guard(b: Bench) -> Correction:
    """Takes advance while the fuel pressure is low."""
    low = beyond(b, "fuel pressure", b.number(0.1, 0.3), below=True, release=0.08)
    return named(b, "fuel guard", "sensor guard", amount=retard(b, 3, 7), when=[low])


def wet(b: Bench) -> Correction:
    """Takes advance under throttle while the driver has the wet switch on."""
    when = [b.on("wet"), beyond(b, "throttle position", b.number(0.1, 0.5))]
    if b.rng.random() < 0.5:
        when[1]["release"] = round(when[1]["above"] * 0.9, 1)
    return named(b, "wet", "driver switch", amount=retard(b, 3, 7), when=when)


def pit(b: Bench) -> Correction:
    """Takes advance while the pit switch is on."""
    return named(b, "pit", "driver switch", amount=retard(b, 4, 9), when=[b.on("pit")])


def push(b: Bench) -> Correction:
    """More advance at the press of a button: it raises under load."""
    when = [b.on("pass"), beyond(b, "accelerator position", 0.3)]
    return named(b, "pass", "driver switch", amount=b.number(1.5, 4), when=when)


def launch(b: Bench) -> Correction:
    """Takes much advance while a launch is held."""
    at = {"channel": b.names["launch"], "is": "on"}
    return named(b, "launch", "launch", amount=retard(b, 8, 16), when=[at])


def shift(b: Bench) -> Correction:
    """Takes much advance in a gear shift and a moment after it."""
    at = {"channel": b.names["shift"], "is": "on", "linger": b.number(0.05, 0.2, 0.05)}
    return named(b, "shift", "gear shift", amount=retard(b, 6, 14), when=[at])


def slip(b: Bench) -> Correction:
    """Takes more advance the more the driven wheels slip."""
    return named(b, "slip", "traction", axes=[b.reading("slip") | {"at": [3.0, 8.0, 20.0]}],
                 values=[0.0, retard(b, 2, 4), retard(b, 7, 12)])  # fmt: skip


def boost(b: Bench) -> Correction:
    """Takes advance as manifold pressure rises."""
    key = "manifold absolute pressure"
    return named(b, "boost", "boost", **curve(b, key, b.number(0.4, 0.7), retard(b, 3, 6)))


def armed(b: Bench) -> Correction:
    """Takes advance under throttle while the nitrous switch is armed."""
    when = [b.on("arm"), beyond(b, "throttle position", b.number(0.3, 0.6))]
    return named(b, "armed", "nitrous", amount=retard(b, 4, 8), when=when)


def height(b: Bench) -> Correction:
    """Adds advance where the air is thin."""
    return named(b, "height", "altitude", **curve(
        b, "barometric pressure", 0.9, b.number(1.5, 3), falling=True))  # fmt: skip


def idle(b: Bench) -> Correction:
    """Advance against a sagging idle speed, retard against a racing one."""
    span = b.number(100, 260, 20)
    most = b.number(4, 8, 0.5)
    at = [-span, -span / 2, 0.0, span / 2, span] if b.rng.random() < 0.5 else [-span, 0.0, span]
    values = [round(most * x / span, 1) + 0.0 for x in at]
    gap = {"signal": "idle speed target", "minus": "engine speed", "unit": "rpm", "at": at}
    when: list[dict[str, Any]] = [
        {"signal": "throttle position", "unit": "%", "below": b.number(1.2, 2.5)},
        {"signal": "engine speed", "unit": "rpm",
         "below": float(round(b.vehicle.idle * b.number(1.5, 2.0) / 50) * 50)},
    ]  # fmt: skip
    extra: dict[str, Any] = {"expected": "keeps idle steady"} if b.rng.random() < 0.3 else {}
    return named(b, "idle", "idle speed", axes=[gap], values=values, when=when, **extra)


def soft_rev(b: Bench) -> Correction:
    """Puts a fixed advance in place of the sum above a speed near the drive's highest."""
    top = float(np.floor(b.at("engine speed", 0.93) / 50) * 50)
    over = {"signal": "engine speed", "unit": "rpm", "above": top}
    over |= {"release": top - b.number(100, 300, 50)}
    return named(b, "rev", "rev limit", effect="replace", amount=b.number(-4, 8, 0.5), when=[over])


def out_of_reach(b: Bench, key: str, what: str, reason: str, falling: bool = False) -> Correction:
    """A curve whose knee lies beyond all that this drive reaches, so that it never acts."""
    return named(b, what, reason, **curve(
        b, key, 0.0 if falling else 1.0, retard(b, 3, 6), falling=falling, acts=False))  # fmt: skip


def decoys(b: Bench, count: int, taken: set[str]) -> list[Correction]:
    """Corrections that stand in the sheet and do nothing on this drive, or are switched off."""
    made: list[Correction] = [
        out_of_reach(b, "engine coolant temperature", "coolant", "coolant temperature"),
        out_of_reach(b, "oil temperature", "oil heat", "oil temperature"),
        out_of_reach(b, "module voltage", "volts", "battery voltage", falling=True),
        out_of_reach(b, "intake air temperature", "air", "air temperature"),
        named(b, "armed", "nitrous", amount=retard(b), when=[
            {"channel": b.names["arm"], "is": "on"}, beyond(b, "throttle position", 0.8)]),
        named(b, "pit", "driver switch", amount=retard(b), when=[
            {"channel": b.names["pit"], "is": "on"}]),
        named(b, "rev", "rev limit", effect="replace", amount=b.number(-6, 4, 0.5), when=[
            {"signal": "engine speed", "unit": "rpm", "above": b.vehicle.redline + 500.0}]),
        launch(b) | {"enabled": False},
        slip(b) | {"enabled": False},
    ]  # fmt: skip
    used = {key for key, spans in b.switches.items() if spans}
    chosen: list[Correction] = []
    for index in b.rng.permutation(len(made)).tolist():
        one = made[index]
        reads_used = any(
            c.get("channel") in {b.names[key] for key in used} for c in one.get("when", ())
        )
        if one["id"] not in taken and not reads_used and len(chosen) < count:
            taken.add(one["id"])
            chosen.append(one)
    return chosen
