"""The pictures of the docs: the demo's page and the desk, as a browser shows them.

`python -m benchmarks.pictures docs/pictures` needs Chromium with its driver. One run makes all of
them anew, so that no picture shows what the program no longer does.
"""

import base64
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import tuneledger as tl
from tuneledger.pages import write_page
from tuneledger.pages.raster import png
from tuneledger.pages.strips import figure

ROOT = Path(__file__).parents[1]
FILES = [ROOT / "demo" / name for name in ("climb.csv", "rev-d.toml", "rev-c.toml", "rev-b.toml")]
UNMAPPED = [
    FILES[0],
    *(ROOT / "demo" / "described" / f"kestrel{end}" for end in (".a2l", "-d.hex")),
]
WIDE, PHONE = (1240, 900), (390, 844)
_QUIET = ("--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--no-first-run")
_PATIENCE_S = 20.0
_MARGIN = 12


class Camera:
    """A browser that takes pictures of parts of a page."""

    def __init__(self, driver: Any, folder: Path) -> None:
        self.driver = driver
        self.folder = folder

    def call(self, method: str, **parameters: Any) -> Any:
        return self.driver.execute_cdp_cmd(method, parameters)

    def go(self, address: str, size: tuple[int, int] = WIDE, *, dark: bool = False) -> None:
        """Open an address and wait until its modules have drawn it."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=size[0],
            height=size[1],
            deviceScaleFactor=1,
            mobile=False,
        )
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.call("Emulation.setEmulatedMedia", features=[scheme])
        self.driver.get(address)
        self.wait("document.querySelector('#board .strip, #drop, #contents')")

    def do(self, script: str, *given: Any) -> Any:
        return self.driver.execute_script(script, *given)

    def wait(self, true: str) -> None:
        """Until a script's expression is true, and two frames more."""
        end = time.monotonic() + _PATIENCE_S
        while not self.do(f"return Boolean({true})"):
            if time.monotonic() > end:
                raise TimeoutError(f"never true: {true}")
            time.sleep(0.05)
        time.sleep(0.5)

    def take(self, name: str, first: str, last: str | None = None) -> None:
        """A picture from the top of one element to the bottom of another."""
        x, y, width, height = self.do(
            "const box = (s) => document.querySelector(s).getBoundingClientRect();"
            f"const [a, b] = [box({first!r}), box({last or first!r})];"
            "return [a.left + scrollX, a.top + scrollY, a.width, b.bottom - a.top]"
        )
        clip = {
            "x": max(0, x - _MARGIN),
            "y": max(0, y - _MARGIN),
            "width": width + 2 * _MARGIN,
            "height": height + 2 * _MARGIN,
            "scale": 1,
        }
        shot = self.call(
            "Page.captureScreenshot", format="png", captureBeyondViewport=True, clip=clip
        )
        (self.folder / name).write_bytes(base64.b64decode(shot["data"]))


@contextmanager
def camera(folder: Path) -> Iterator[Camera]:
    from selenium import webdriver

    browser = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
    driver = shutil.which("chromedriver")
    if browser is None or driver is None:
        sys.exit("Pictures need Chromium and its driver.")
    with tempfile.TemporaryDirectory() as profile:
        options = webdriver.ChromeOptions()
        options.binary_location = browser
        for argument in (*_QUIET, f"--user-data-dir={profile}"):
            options.add_argument(argument)
        opened = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
        try:
            yield Camera(opened, folder)
        finally:
            opened.quit()


@contextmanager
def desk(files: Sequence[Path]) -> Iterator[str]:
    """The desk with these files on it; its address."""
    command = [sys.executable, "-m", "tuneledger", "desk", "--no-browser", "--no-memory"]
    running = subprocess.Popen(
        [*command, *map(str, files)], stderr=subprocess.PIPE, text=True, cwd=ROOT
    )
    assert running.stderr is not None
    try:
        found = re.search(r"http://\S+", running.stderr.readline())
        if found is None:
            sys.exit(f"The desk did not open: {running.stderr.read()}")
        yield found[0]
    finally:
        running.terminate()
        running.wait(timeout=20)


FIRST_CAUSE = "document.querySelector(\"[data-cause='0'] button\").click()"
OFF = "document.querySelector(\"[data-place$='charge-air.enabled']\").click()"
REACHED = "document.querySelector('.in-view:not([hidden])')"


def take_page(seen: Camera, page: Path) -> None:
    """The evidence page: its head and run, dark, on a phone, and its map."""
    seen.go(page.as_uri())
    seen.do(FIRST_CAUSE)
    seen.wait(REACHED)
    seen.take("page.png", "header", "#slip")
    seen.take("map.png", "#visits")
    seen.go(page.as_uri(), dark=True)
    seen.do(FIRST_CAUSE)
    seen.wait(REACHED)
    seen.take("page-dark.png", "#run", "#slip")
    seen.go(page.as_uri(), PHONE)
    seen.do("document.querySelector('#run').scrollIntoView()")
    seen.do("document.querySelector('#slips').style.position = 'static'")
    seen.take("page-phone.png", "#run", "#slip")


def take_desk(seen: Camera, address: str) -> None:
    """The desk: an empty place and a case; what if."""
    seen.go(address)
    seen.wait("document.querySelector('[data-says]').innerText.includes('revision')")
    seen.take("desk.png", "main")
    seen.go(seen.do("return document.querySelector('table.cases a').href"))
    seen.do("document.querySelector('#papers').open = true")
    seen.do(OFF)
    seen.wait("document.querySelector('#rehearsal h3')")
    seen.do(FIRST_CAUSE)
    seen.wait(REACHED)
    seen.take("case.png", ".desk-bar", "#causes")
    seen.take("what-if.png", "#run", "#what-if")


def take_contents(seen: Camera, address: str) -> None:
    """A case that lacks its mapping."""
    seen.go(address)
    seen.wait("document.querySelector('[data-says]').innerText.includes('mapping')")
    seen.go(seen.do("return document.querySelector('table.cases a').href"))
    seen.take("desk-contents.png", "main")


def main() -> None:
    """Take every picture into the folder that is named."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made, camera(folder) as seen:
        page = Path(made) / "kestrel.html"
        statement = tl.reconcile(FILES, memory=False)
        page.write_text(write_page(statement), encoding="utf-8")
        (folder / "figure.png").write_bytes(png(figure(statement)))
        take_page(seen, page)
        with desk(FILES) as address:
            take_desk(seen, address)
        with desk(UNMAPPED) as address:
            take_contents(seen, address)


if __name__ == "__main__":
    main()
