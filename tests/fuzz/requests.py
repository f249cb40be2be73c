"""Requests to the desk as its pages send them, to be damaged, and the desk that answers them.

The desk runs in this process, without a socket: a request is the text of HTTP/1.1, read as loosely
as the worst of clients may send it, handed over as a server does (ASGI). Reading a case anew is
left out, since a job of its own does that, with files that the other formats damage.
"""

import asyncio
import atexit
import json
import shutil
import tempfile
from collections.abc import Iterator, MutableMapping
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from starlette.types import ASGIApp

from tuneledger.desk.app import Desk, application
from tuneledger.desk.drawer import Drawer
from tuneledger.desk.limits import DESK_USUAL
from tuneledger.desk.work import Terms
from tuneledger.errors import Fault, UsageError

DEMO = Path(__file__).parents[2] / "demo"
HOST, TOKEN, CASE = "127.0.0.1:8000", "token", "case"
NOTE = {"cause": "charge-air", "title": "Hot charge air", "expected": True, "says": "as agreed"}
EDIT = {"place": "spark.correction.charge-air.values[3]", "to": -3.0}
CHANGING: tuple[tuple[str, str, Any], ...] = (
    ("PUT", "edits", {"edits": [EDIT]}),
    ("PUT", "edits", {"edits": [], "to": "rev-d.toml"}),
    ("PUT", "notes", {"notes": [NOTE]}),
    ("POST", "roles", {"signal": "engine speed", "channel": "Engine speed"}),
    ("POST", "roles", {"channel": "Inlet temp", "unit": "degF"}),
    ("POST", "papers", {"first": "rev-d.toml"}),
    ("POST", "papers", {"wishes": {"shift": "0x1000"}}),
)
ASKING = ("", "state", "channel?log=0&name=Throttle", "save/ledger", "save/notes")
NOTES_FILE = {"format": "tuneledger-notes/1", "files": ["climb.csv"], "notes": [NOTE]}
_FAULTS = 500
_DISK = 507


def requests(_: Path) -> Iterator[bytes]:
    """Whole requests, one of each kind."""
    for method, path, payload in CHANGING:
        yield _written(method, f"cases/{CASE}/{path}", json.dumps(payload).encode())
    for path in ASKING:
        yield _written("GET", f"cases/{CASE}/{path}", b"")
    yield _written("GET", "states", b"")
    for name, body in (
        ("rev-e.toml", (DEMO / "rev-b.toml").read_bytes()),
        ("n.json", json.dumps(NOTES_FILE).encode()),
    ):
        yield _written("PUT", f"cases/{CASE}/files?name={name}", body)


def answer(file: Path) -> None:
    """Ask the desk. UsageError where it refuses; a fault of its own goes through."""
    status, body = asyncio.run(_asked(_scope(*_parts(file.read_bytes()))))
    if status >= _FAULTS and status != _DISK:
        raise RuntimeError(f"{status}: {body[:200]!r}")
    if status >= 400:
        raise UsageError(Fault(body.decode()[:200] or "refused"))


def _written(method: str, path: str, body: bytes) -> bytes:
    head = f"{method} /{TOKEN}/{path} HTTP/1.1\r\nHost: {HOST}\r\nOrigin: http://{HOST}\r\n"
    return f"{head}Content-Length: {len(body)}\r\n\r\n".encode() + body


def _parts(data: bytes) -> tuple[str, bytes, list[tuple[bytes, bytes]], bytes]:
    head, _, body = data.partition(b"\r\n\r\n")
    first, *lines = head.split(b"\r\n")
    method, _, rest = first.partition(b" ")
    headers = [(name.lower().strip(), value.strip()) for name, _, value in
               (line.partition(b":") for line in lines)]  # fmt: skip
    return method.decode("latin-1"), rest.partition(b" ")[0], headers, body


def _scope(
    method: str, target: bytes, headers: list[tuple[bytes, bytes]], body: bytes
) -> tuple[MutableMapping[str, Any], bytes]:
    path, _, query = target.partition(b"?")
    return {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": method,
        "scheme": "http",
        "path": unquote(path.decode("latin-1")),
        "raw_path": path,
        "query_string": query,
        "root_path": "",
        "headers": headers,
        "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 8000),
    }, body


async def _asked(asked: tuple[MutableMapping[str, Any], bytes]) -> tuple[int, bytes]:
    scope, body = asked
    status, parts = 0, []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: MutableMapping[str, Any]) -> None:
        nonlocal status
        status = message.get("status", status)
        parts.append(message.get("body", b""))

    await _desk()(scope, receive, send)
    return status, b"".join(parts)


@cache
def _desk() -> ASGIApp:
    """A desk with one case that is read, its files copies in a folder of its own."""
    room = Path(tempfile.mkdtemp(prefix="tuneledger-fuzz-"))
    atexit.register(shutil.rmtree, room, ignore_errors=True)
    files = [room / name for name in ("climb.csv", "rev-c.toml", "rev-d.toml")]
    for path in files:
        shutil.copyfile(DEMO / path.name, path)
    (room / "desk").mkdir()
    drawer = Drawer(room / "desk", Terms(DESK_USUAL, memory=False), kept=False)
    case = drawer.lay(files)
    drawer._work(case, case.settings, case.turn)
    assert case.statement is not None
    drawer.cases[CASE] = drawer.cases.pop(case.name)
    for name in ("read", "put_away"):
        setattr(drawer, name, lambda *_: None)
    return application(Desk(drawer), TOKEN, [HOST])
