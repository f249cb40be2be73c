"""Random small sheets that use all that can move an advance, for tests of reach."""

from random import Random
from typing import Any

from tuneledger.calibrations.check import check
from tuneledger.calibrations.model import FORMAT, Calibration

Raw = dict[str, Any]
MAP = {
    "axes": [
        {"signal": "manifold absolute pressure", "unit": "kPa", "at": [60.0, 180.0]},
        {"signal": "engine speed", "unit": "rpm", "at": [900.0, 4000.0]},
    ],
    "values": [[18.0, 34.0], [9.0, 20.0]],
}
POINTS = {
    "throttle position": [0.0, 2.0, 30.0, 55.0, 60.0, 100.0],
    "engine coolant temperature": [-10.0, 20.0, 80.0, 100.0, 120.0],
    "intake air temperature": [0.0, 30.0, 50.0, 90.0],
    "engine speed": [800.0, 900.0, 2500.0, 4000.0, 7000.0],
    "manifold absolute pressure": [50.0, 60.0, 150.0, 180.0, 250.0],
}


class Maker:
    """Draws one sheet."""

    def __init__(self, seed: int) -> None:
        self.random = Random(seed)
        free = ["throttle position", "engine coolant temperature", "intake air temperature"]
        self.free = self.random.sample(free, 2)

    def chance(self, share: float) -> bool:
        return self.random.random() < share

    def degrees(self) -> float:
        return self.random.randint(-40, 20) / 4

    def signal(self) -> str:
        fixed = ["engine speed", "manifold absolute pressure"]
        return self.random.choice(self.free if self.chance(0.75) else fixed)

    def axis(self, earlier: list[str]) -> Raw:
        if self.chance(0.08):
            return {"since": self.comparison(plain=True), "at": [0.0, 1.0, 3.0]}
        if self.chance(0.12):
            governed = {"signal": "idle speed target", "minus": "engine speed"}
            return governed | {"at": [-300.0, 0.0, 300.0]}
        if self.chance(0.08):
            ratio = {"signal": "manifold absolute pressure", "over": "barometric pressure"}
            return ratio | {"at": [1.0, 1.5, 2.0]}
        name = self.signal()
        at = sorted(self.random.sample(POINTS[name], self.random.randint(1, 3)))
        if name == "engine coolant temperature" and self.chance(0.3):
            return {"signal": name, "unit": "degF", "at": [round(1.8 * x + 32, 6) for x in at]}
        return {"signal": name, "at": at}

    def table(self, earlier: list[str], cell: Any = None) -> Raw:
        cell = cell or self.degrees
        if self.chance(0.4):
            return {"amount": cell()}
        axes = [self.axis(earlier)]
        if self.chance(0.25):
            second = self.axis(earlier)
            if {second.get("signal"), second.get("minus")}.isdisjoint({axes[0].get("signal")}):
                axes.append(second)
        sizes = [len(axis["at"]) for axis in axes]
        values: Any = [cell() for _ in range(sizes[0])]
        if len(axes) > 1:
            values = [[cell() for _ in range(sizes[1])] for _ in range(sizes[0])]
        return {"axes": axes, "values": values}

    def comparison(self, *, plain: bool = False) -> Raw:
        if self.chance(0.25):
            return {"channel": "Wet switch", "is": self.random.choice(["on", "off"])}
        name = self.signal()
        out: Raw = {"signal": name}
        points = POINTS[name]
        kind = self.random.choice(
            ["above", "below", "between", "is"] if self.chance(0.4) else ["above", "below"]
        )
        one, other = sorted(self.random.choices(points, k=2))
        if not plain and self.chance(0.08) and name == "throttle position":
            return {"signal": name, "rate": 0.5, "above": self.random.choice([20.0, 100.0])}
        if kind == "between":
            out["between"] = [one, other]
        elif kind == "is":
            out["is"] = one
        else:
            out[kind] = other if kind == "above" else one
            if self.chance(0.35):
                out["release"] = one if kind == "above" else other
        if not plain and self.chance(0.12):
            out["held"] = self.random.choice([0.2, 1.0])
        if not plain and self.chance(0.12):
            out["linger"] = self.random.choice([0.5, 2.0])
        return out

    def condition(self, earlier: list[str]) -> Raw:
        if earlier and self.chance(0.15):
            return {"correction": self.random.choice(earlier), "is": "active"}
        if self.chance(0.12):
            return {"any": [self.comparison(), self.comparison()]}
        if self.chance(0.06):
            return {"since": self.comparison(plain=True), "below": 2.0}
        return self.comparison()

    def correction(self, name: str, earlier: list[str]) -> Raw:
        if self.chance(0.08):
            return {"id": name, "range": [-6.0, 1.0], "when": [self.comparison()]}
        effects = ["add"] * 5 + ["base", "at most", "at least", "replace"]
        out: Raw = {"id": name, "effect": self.random.choice(effects)}
        cell = self.degrees
        if out["effect"] != "add":
            cell = lambda: self.random.randint(0, 120) / 4  # noqa: E731
        out |= self.table(earlier, cell)
        if out["effect"] == "base" and self.chance(0.7):
            out["weight"] = self.table(earlier, lambda: self.random.randint(0, 4) / 4)
        if self.chance(0.8):
            out["when"] = [self.condition(earlier) for _ in range(self.random.choice([1, 1, 2]))]
        if out.get("when") and self.chance(0.12):
            out["until"] = "power off" if self.chance(0.4) else self.comparison(plain=True)
        if out["effect"] == "add" and self.chance(0.1):
            out["ramp"] = 20.0
        if self.chance(0.08):
            out["enabled"] = False
        return out

    def sheet(self) -> Calibration:
        names = ["one", "two", "three"][: self.random.choice([1, 2, 2, 3])]
        made = [self.correction(name, names[:index]) for index, name in enumerate(names)]
        spark: Raw = {"map": MAP, "correction": made}
        if self.chance(0.3):
            spark["limits"] = {"lowest": -4.0, "highest": 30.0}
        return check({"format": FORMAT, "revision": "A", "spark": spark})


def small_sheet(seed: int) -> Calibration:
    return Maker(seed).sheet()
