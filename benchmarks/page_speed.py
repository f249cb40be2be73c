"""What a big page costs a browser: by its own counters of main-thread time.

`python -m benchmarks.page_speed` makes a page of 90,000 rows, opens it with twelve channels shown,
moves the mouse over them and turns the wheel, and prints what each took beside what was set as its
bound. Needs Chromium with its driver.
"""

import tempfile
import time
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
}


def measure(seen: Camera, page: Path) -> dict[str, float]:
    """Name of each measure → what it took."""
    seen.call("Performance.enable")
    every = ".".join(map(str, range(SHOWN)))
    seen.go(f"{page.as_uri()}#log=0&cause=0&strips={every}")
    seen.wait(f"document.querySelectorAll('#board .strip.channel').length == {SHOWN}")
    found = {"page, MB": page.stat().st_size / 1e6, "first picture, s": _busy(seen)}
    seen.do("document.querySelector('#run').scrollIntoView()")
    seen.wait("true")
    left, width, top = seen.do(
        "const r = document.querySelector('#board .strip:nth-child(2) .strip-paper')"
        ".getBoundingClientRect(); return [r.left, r.width, r.top + 30]"
    )
    before = _busy(seen)
    for i in range(MOVES):
        at = left + width * (0.1 + 0.8 * i / MOVES)
        seen.call("Input.dispatchMouseEvent", type="mouseMoved", x=at, y=top)
        time.sleep(0.03)
    found["a mouse move, ms"] = (_busy(seen) - before) / MOVES * 1000
    before = _busy(seen)
    for _ in range(TURNS):
        middle = {"x": left + width / 2, "y": top}
        seen.call("Input.dispatchMouseEvent", type="mouseWheel", deltaX=0, deltaY=-30, **middle)
        time.sleep(0.05)
    found["a wheel step, ms"] = (_busy(seen) - before) / TURNS * 1000
    return found


def _busy(seen: Camera) -> float:
    """Seconds of main-thread time since the page was asked for."""
    counters = seen.call("Performance.getMetrics")["metrics"]
    return float(next(c["value"] for c in counters if c["name"] == "TaskDuration"))


def main() -> None:
    """Measure and print, with a mark where a bound is passed. A busy machine passes them all."""
    with tempfile.TemporaryDirectory() as made, camera(Path(made)) as seen:
        page = Path(made) / "big.html"
        files = write_big(Path(made))
        page.write_text(write_page(tl.reconcile(files, memory=False)), encoding="utf-8")
        found = measure(seen, page)
    for name, value in found.items():
        mark = "  passed" if value > BOUNDS[name] else ""
        print(f"{name:20} {value:8.2f}   bound {BOUNDS[name]:g}{mark}")


if __name__ == "__main__":
    main()
