"""What a big page costs a browser: by its own counters of main-thread time.

`python -m benchmarks.page_speed` makes a page of 90,000 rows, opens it with twelve channels shown,
moves the mouse over them and turns the wheel, and prints what each took beside what was set as its
bound, and how much of it the processor worked: that hardly grows on a busy machine. Needs Chromium
with its driver.
"""

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import tuneledger as tl
from benchmarks.pictures import Camera, camera
from tuneledger.car.big import write_big
from tuneledger.pages import write_page

MOVES, TURNS, SHOWN = 80, 30, 12
BOUNDS = {
    "page, MB": 4.0,
    "first picture, s": 0.5,
    "a mouse move, ms": 8.0,
    "a wheel step, ms": 16.0,
    "a step closer in, ms": 16.0,
}


def measure(seen: Camera, page: Path) -> dict[str, tuple[float, float]]:
    """Name of each measure → what it took, and what of that the processor worked."""
    seen.call("Performance.enable")
    every = ".".join(map(str, range(SHOWN)))
    seen.go(f"{page.as_uri()}#log=0&cause=0&strips={every}")
    seen.wait(f"document.querySelectorAll('#board .strip.channel').length == {SHOWN}")
    size = page.stat().st_size / 1e6
    found = {"page, MB": (size, size), "first picture, s": _busy(seen)}
    seen.do("document.querySelector('#run').scrollIntoView()")
    seen.wait("true")
    left, width, top = seen.do(
        "const r = document.querySelector('#board .strip:nth-child(3) .strip-paper')"
        ".getBoundingClientRect(); return [r.left, r.width, r.top + 30]"
    )

    def move(i: int) -> None:
        at = left + width * (0.1 + 0.8 * i / MOVES)
        seen.call("Input.dispatchMouseEvent", type="mouseMoved", x=at, y=top)

    def turn(i: int) -> None:
        middle = {"x": left + width / 2, "y": top}
        seen.call("Input.dispatchMouseEvent", type="mouseWheel", deltaX=0, deltaY=-30, **middle)

    found["a mouse move, ms"] = _each(seen, move, MOVES, 0.03)
    found["a wheel step, ms"] = _each(seen, turn, TURNS, 0.05)
    _each(seen, turn, TURNS, 0.05)
    found["a step closer in, ms"] = _each(seen, turn, TURNS, 0.05)
    return found


def _each(
    seen: Camera, act: Callable[[int], None], times: int, apart_s: float
) -> tuple[float, float]:
    """Milliseconds that one of many acts takes."""
    before = _busy(seen)
    for i in range(times):
        act(i)
        time.sleep(apart_s)
    after = _busy(seen)
    took, worked = ((b - a) / times * 1000 for a, b in zip(before, after, strict=True))
    return took, worked


def _busy(seen: Camera) -> tuple[float, float]:
    """Seconds of main-thread tasks since the page was asked for, and of its processor time."""
    counters = {c["name"]: c["value"] for c in seen.call("Performance.getMetrics")["metrics"]}
    return float(counters["TaskDuration"]), float(counters["ThreadTime"])


def main() -> None:
    """Measure and print, with a mark where a bound is passed. A busy machine passes them all."""
    with tempfile.TemporaryDirectory() as made, camera(Path(made)) as seen:
        page = Path(made) / "big.html"
        files = write_big(Path(made))
        page.write_text(write_page(tl.reconcile(files, memory=False)), encoding="utf-8")
        found = measure(seen, page)
    for name, (took, worked) in found.items():
        mark = "  passed" if took > BOUNDS[name] else ""
        work = "" if name == "page, MB" else f"   of it at work {worked:6.2f}"
        print(f"{name:20} {took:8.2f}   bound {BOUNDS[name]:g}{work}{mark}")


if __name__ == "__main__":
    main()
