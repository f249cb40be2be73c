"""A page as a reader has it: opened from disk, driven by mouse, wheel, finger and key events."""

import json
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tuneledger.pages import write_page
from tuneledger.statement.model import Statement

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
DRIVER = shutil.which("chromedriver")
QUIET = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)


class Reader:
    """A browser with one page in it."""

    def __init__(self, driver: Any, folder: Path) -> None:
        self.driver = driver
        self.folder = folder
        self.own: tuple[str, ...] = ()  # addresses that are the page's own, beside the file itself

    def call(self, method: str, **parameters: Any) -> Any:
        return self.driver.execute_cdp_cmd(method, parameters)

    def run(self, script: str, *arguments: Any) -> Any:
        return self.driver.execute_script(script, *arguments)

    def open(self, statement: Statement, width: int = 1300, height: int = 900) -> None:
        """Write the page and open it; wait until its modules have put it together."""
        path = self.folder / "page.html"
        path.write_text(write_page(statement), encoding="utf-8")
        self.visit(path.as_uri(), width, height)
        self.drawn()
        self.run("document.querySelector('#run').scrollIntoView()")

    def visit(self, address: str, width: int = 1300, height: int = 900) -> None:
        """Go to an address, with nothing yet said of what was there before."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )
        self.driver.get_log("browser"), self.driver.get_log("performance")
        self.driver.get(address)

    def drawn(self) -> None:
        """Wait until the modules of a page have put it together."""
        self.until(lambda: self.run("return document.querySelectorAll('#board .strip').length > 1"))

    def until(self, true: Callable[[], Any], seconds: float = 4.0) -> None:
        for _ in range(int(seconds / 0.02)):
            if true():
                return
            time.sleep(0.02)
        pytest.fail(f"the page did not get there within {seconds:g} seconds")

    def frame(self) -> None:
        """Wait until what was done has been drawn."""
        self.driver.execute_async_script(
            "const done = arguments[0]; requestAnimationFrame(() => requestAnimationFrame(done))"
        )

    def complaints(self) -> list[str]:
        """Whatever the browser wrote to its console: errors, and breaches of the policy."""
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def requests(self) -> list[str]:
        """Every address asked for that is neither the page itself nor within it."""
        messages = (json.loads(e["message"])["message"] for e in self.driver.get_log("performance"))
        asked = [
            m["params"]["request"]["url"]
            for m in messages
            if m["method"] == "Network.requestWillBeSent"
        ]
        own = ("file:", "data:", "blob:", *self.own)
        return [url for url in asked if not url.startswith(own)]

    def unnamed(self) -> list[str]:
        """Roles of what can be operated and has no name, by the browser's accessibility tree."""
        self.call("Accessibility.enable")
        nodes = self.call("Accessibility.getFullAXTree")["nodes"]
        operated = ("button", "combobox", "textbox", "checkbox", "radio", "link", "application")
        return [
            node["role"]["value"]
            for node in nodes
            if not node.get("ignored")
            and node.get("role", {}).get("value") in operated
            and not node.get("name", {}).get("value")
        ]

    def texts(self, selector: str) -> list[str]:
        script = (
            "return [...document.querySelectorAll(arguments[0])].map((n) => n.innerText.trim())"
        )
        return list(self.run(script, selector))

    def text(self, selector: str) -> str:
        return self.texts(selector)[0]

    def click(self, selector: str, number: int = 0) -> None:
        self.run("document.querySelectorAll(arguments[0])[arguments[1]].click()", selector, number)
        self.frame()

    def paper(self) -> tuple[float, float, float]:
        """Left edge, width and a height on the strips, in the window's pixels."""
        left, width, top = self.run(
            "const r = document.querySelector('#board .strip:not(.axis) .strip-paper')"
            ".getBoundingClientRect(); return [r.left, r.width, r.top]"
        )
        return left, width, top + 30

    def mouse(self, kind: str, share: float, **more: Any) -> None:
        """A mouse event at a share of the paper's width."""
        left, width, y = self.paper()
        self.call("Input.dispatchMouseEvent", type=kind, x=left + share * width, y=y, **more)
        self.frame()

    def point(self, share: float) -> None:
        self.mouse("mouseMoved", share)

    def press(self, share: float, times: int = 1) -> None:
        for count in range(1, times + 1):
            for kind in ("mousePressed", "mouseReleased"):
                self.mouse(kind, share, button="left", clickCount=count)

    def turn(self, share: float, pixels: float) -> None:
        self.mouse("mouseWheel", share, deltaX=0, deltaY=pixels)
        self.frame()

    def key(self, key: str, shift: bool = False) -> None:
        self.run("document.querySelector('#board').focus({preventScroll: true})")
        modifiers = 8 if shift else 0
        text = {"text": key} if len(key) == 1 else {}
        for kind in ("keyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key=key, modifiers=modifiers, **text)
        self.frame()

    def window(self) -> tuple[float, float]:
        """The part of the run in view, from 0 to 1, as the overview shows it."""
        left, width, hidden = self.run(
            "const f = document.querySelector('.in-view');"
            "return [f.style.left, f.style.width, f.hidden]"
        )
        if hidden:
            return 0.0, 1.0
        start = float(left.rstrip("%")) / 100
        return start, start + float(width.rstrip("%")) / 100

    def slip(self) -> dict[str, str]:
        """The slip's fields as they are shown, with `row` and `time`."""
        names, amounts = self.texts("#slip .field .name"), self.texts("#slip .field .amount")
        where = self.text("#slip .where")
        row = where.removeprefix("row ").partition(",")[0]
        return {**dict(zip(names, amounts, strict=True)), "row": row, "time": self.text(".when")}


@contextmanager
def reader() -> Iterator[Reader]:
    """A browser of its own for the length of a test module; skips where there is none."""
    webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is not installed")
    if BROWSER is None or DRIVER is None:
        pytest.skip("no Chromium with its driver on this machine")
    options = webdriver.ChromeOptions()
    options.binary_location = BROWSER
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    with tempfile.TemporaryDirectory() as folder:
        for argument in (*QUIET, f"--user-data-dir={folder}/profile"):
            options.add_argument(argument)
        service = webdriver.ChromeService(DRIVER)
        driver = webdriver.Chrome(options=options, service=service)
        try:
            yield Reader(driver, Path(folder))
        finally:
            driver.quit()
