"""A page in Firefox, driven by WebDriver BiDi (W3C), which that browser speaks by itself."""

import itertools
import json
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.pages.browser import Reader

BROWSER = next(filter(None, map(shutil.which, ("firefox-esr", "firefox"))), None)
PATIENCE_S = 60.0
# Code points of the keys: WebDriver (W3C Recommendation), section 17.4.2, "Keyboard actions".
KEYS = {
    "Tab": "\ue004", "Enter": "\ue007", "Shift": "\ue008", "Escape": "\ue00c", "PageUp": "\ue00e",
    "PageDown": "\ue00f", "End": "\ue010", "Home": "\ue011", "ArrowLeft": "\ue012",
    "ArrowRight": "\ue014",
}  # fmt: skip
WATCH = (
    "() => addEventListener('securitypolicyviolation', (e) =>"
    " console.error(`policy: ${e.violatedDirective} ${e.blockedURI}`))"
)


class Wire:
    """The connection: commands out, events in."""

    def __init__(self, address: str) -> None:
        from websocket import create_connection

        self.socket = create_connection(address, timeout=PATIENCE_S, suppress_origin=True)
        self.numbers = itertools.count(1)
        self.said: list[str] = []
        self.asked: list[str] = []
        self.call("session.new", capabilities={})
        self.call("session.subscribe", events=["log.entryAdded", "network.beforeRequestSent"])
        self.context = self.call("browsingContext.getTree")["contexts"][0]["context"]
        self.call("script.addPreloadScript", functionDeclaration=WATCH)

    def call(self, method: str, **params: Any) -> Any:
        number = next(self.numbers)
        self.socket.send(json.dumps({"id": number, "method": method, "params": params}))
        while True:
            told = json.loads(self.socket.recv())
            if told.get("id") == number:
                assert told["type"] == "success", f"{method}: {told.get('message')}"
                return told["result"]
            self._event(told)

    def _event(self, told: dict[str, Any]) -> None:
        params = told.get("params", {})
        if told.get("method") == "log.entryAdded" and params["level"] in ("error", "warn"):
            self.said.append(params["text"] or "")
        elif told.get("method") == "network.beforeRequestSent":
            self.asked.append(params["request"]["url"])

    # What tests ask of a driver.

    @property
    def current_url(self) -> str:
        tree = self.call("browsingContext.getTree", root=self.context)
        return str(tree["contexts"][0]["url"])

    def get(self, address: str) -> None:
        self.call("browsingContext.navigate", context=self.context, url=address, wait="complete")

    def refresh(self) -> None:
        self.call("browsingContext.reload", context=self.context, wait="complete")


class FoxReader(Reader):
    """The same reader, at another browser."""

    driver: Wire

    def call(self, method: str, **parameters: Any) -> Any:
        return self.driver.call(method, **parameters)

    def run(self, script: str, *arguments: Any) -> Any:
        wrapped = (
            "async (given) => JSON.stringify(await (function () {"
            f"{script}\n}}).apply(null, JSON.parse(given)) ?? null)"
        )
        told = self.call(
            "script.callFunction",
            functionDeclaration=wrapped,
            arguments=[{"type": "string", "value": json.dumps(arguments)}],
            target={"context": self.driver.context},
            awaitPromise=True,
        )
        assert told["type"] == "success", told.get("exceptionDetails")
        return json.loads(told["result"]["value"])

    def visit(self, address: str, width: int = 1300, height: int = 900) -> None:
        size = {"width": width, "height": height}
        self.call("browsingContext.setViewport", context=self.driver.context, viewport=size)
        self.driver.get("about:blank")
        self.driver.said.clear(), self.driver.asked.clear()
        self.driver.get(address)

    def frame(self) -> None:
        self.run("return new Promise((d) => requestAnimationFrame(() => requestAnimationFrame(d)))")

    def complaints(self) -> list[str]:
        self.run("return 0")  # what was said by now has come in
        return list(self.driver.said)

    def requests(self) -> list[str]:
        self.run("return 0")
        own = ("file:", "data:", "blob:", "about:", *self.own)
        return [url for url in self.driver.asked if not url.startswith(own)]

    def act(self, kind: str, *actions: dict[str, Any], **more: Any) -> None:
        source = {"type": kind, "id": kind, "actions": list(actions), **more}
        self.call("input.performActions", context=self.driver.context, actions=[source])

    def mouse(self, kind: str, share: float, **more: Any) -> None:
        left, width, y = self.paper()
        at = {"x": round(left + share * width), "y": round(y)}
        if kind == "mouseWheel":
            turned = {"deltaX": round(more["deltaX"]), "deltaY": round(more["deltaY"])}
            self.act("wheel", {"type": "scroll", **at, **turned})
        else:
            press = {"mousePressed": "pointerDown", "mouseReleased": "pointerUp"}.get(kind)
            near = {"type": "pointerMove", **at, "x": at["x"] + (0 if press else 1)}
            there = {"type": "pointerMove", **at}  # a mouse that stays where it is says nothing
            self.act("pointer", near, there, *([{"type": press, "button": 0}] if press else []))
        self.frame()

    def press(self, share: float, times: int = 1) -> None:
        left, width, y = self.paper()
        there = {"type": "pointerMove", "x": round(left + share * width), "y": round(y)}
        click = [{"type": kind, "button": 0} for kind in ("pointerDown", "pointerUp")]
        self.act("pointer", there, *(click * times))
        self.frame()

    def key(self, key: str, shift: bool = False) -> None:
        self.run("document.querySelector('#board').focus({preventScroll: true})")
        codes = [*(["Shift"] if shift else []), key]
        downs = [{"type": "keyDown", "value": KEYS.get(code, code)} for code in codes]
        ups = [{"type": "keyUp", "value": KEYS.get(code, code)} for code in codes[::-1]]
        self.act("key", *downs, *ups)
        self.frame()


@contextmanager
def fox_reader() -> Iterator[FoxReader]:
    """Firefox with one page in it; skips where there is none."""
    pytest.importorskip("websocket", reason="websocket-client is not installed")
    if BROWSER is None:
        pytest.skip("no Firefox on this machine")
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        profile = Path(folder) / "profile"
        profile.mkdir()
        quiet = ("--headless", "--no-remote", "--remote-debugging-port=0", "--profile")
        running = subprocess.Popen(
            [BROWSER, *quiet, str(profile), "about:blank"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            told = _waited(profile / "WebDriverBiDiServer.json")
            wire = Wire(f"ws://{told['ws_host']}:{told['ws_port']}/session")
            yield FoxReader(wire, Path(folder))
            wire.call("browser.close")
        finally:
            running.terminate()
            running.wait(timeout=20)


def _waited(path: Path) -> dict[str, Any]:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        try:
            return dict(json.loads(path.read_text()))
        except (OSError, ValueError):
            time.sleep(0.1)
    pytest.fail("Firefox did not start")
