"""A desk of its own, in a process of its own, as a person starts it."""

import http.client
import json
import os
import re
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

import pytest

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo"
LOG, D, C, B = (DEMO / name for name in ("climb.csv", "rev-d.toml", "rev-c.toml", "rev-b.toml"))


@dataclass
class Desk:
    """A desk that runs. `address` ends with the token."""

    address: str
    process: subprocess.Popen[str]
    said: list[str]

    @property
    def host(self) -> str:
        return urlsplit(self.address).netloc

    @property
    def path(self) -> str:
        return urlsplit(self.address).path

    def ask(
        self,
        method: str,
        path: str,
        body: bytes | str | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> tuple[int, dict[str, str], bytes]:
        """An answer's status, headers and body. `path` is below the token, or whole with a /."""
        connection = http.client.HTTPConnection(self.host, timeout=30)
        own = {"Origin": f"http://{self.host}"} if method != "GET" else {}
        where = path if path.startswith("/") else self.path + path
        connection.request(method, where, body, {**own, **(headers or {})})
        response = connection.getresponse()
        answer = response.status, dict(response.headers), response.read()
        connection.close()
        return answer

    def told(self, method: str, path: str, payload: Any = None) -> dict[str, Any]:
        """What the desk answers to one of its own pages; fails where it refuses."""
        body = None if payload is None else json.dumps(payload)
        status, _, text = self.ask(method, path, body)
        assert status == 200, text
        return dict(json.loads(text))

    def begin(self, *files: Path) -> str:
        """A case of these files, not yet read."""
        case = str(self.told("POST", "cases")["case"])
        for file in files:
            status, _, text = self.send(case, file.name, file.read_bytes())
            assert status == 200, text
        return case

    def send(self, case: str, name: str, content: bytes) -> tuple[int, dict[str, str], bytes]:
        return self.ask("PUT", f"cases/{case}/files?name={quote(name)}", content)

    def read(self, case: str) -> dict[str, Any]:
        """Have a case read, and wait until it is."""
        self.told("POST", f"cases/{case}/read")
        return self.settled(case)

    def settled(self, case: str) -> dict[str, Any]:
        for _ in range(600):
            state = self.told("GET", f"cases/{case}/state")
            if not state["stage"]:
                return state
            time.sleep(0.05)
        return pytest.fail("the case was not read within half a minute")

    def close(self) -> int:
        """Close it as its page does; its exit status."""
        self.told("POST", "close")
        return self.process.wait(timeout=20)


@contextmanager
def desk(*arguments: str | Path, home: Path) -> Iterator[Desk]:
    """A desk started with these arguments; `home` holds what is remembered of roles."""
    pytest.importorskip("uvicorn", reason="the extra 'desk' is not installed")
    environment = {**os.environ, "TUNELEDGER_HOME": str(home), "TMPDIR": str(home)}
    process = subprocess.Popen(
        [sys.executable, "-m", "tuneledger", "desk", "--no-browser", *map(str, arguments)],
        stderr=subprocess.PIPE,
        text=True,
        env=environment,
        cwd=ROOT,
    )
    said: list[str] = []
    assert process.stderr is not None
    first = process.stderr.readline()
    found = re.search(r"http://\S+", first)
    reader = threading.Thread(target=lambda: said.extend(process.stderr or ()), daemon=True)
    try:
        assert found, first + process.stderr.read()
        reader.start()
        yield Desk(found[0], process, said)
    finally:
        if process.poll() is None:
            process.terminate()
        process.wait(timeout=20)
        if reader.ident:
            reader.join(timeout=5)
