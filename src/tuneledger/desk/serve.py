"""The desk run on this machine: a socket on the loopback address, a private folder, a browser."""

import gc
import os
import secrets
import signal
import socket
import webbrowser
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType

from tuneledger.desk.drawer import Drawer
from tuneledger.desk.limits import desk_limits
from tuneledger.desk.work import Terms
from tuneledger.errors import Fault, OutputError, UsageError
from tuneledger.private import PrivateFolder

LOOPBACK = "127.0.0.1"
_STOPS_IN = 2  # seconds that requests under way are given


def check_installed() -> None:
    """UsageError that says what to install where the desk's parts are not there."""
    try:
        import starlette
        import uvicorn
    except ImportError as problem:
        raise UsageError(
            Fault(
                f"the desk needs a part that is not installed ({problem.name})",
                do="Install the extra 'desk' (pip install starlette uvicorn); everything else "
                "works without it.",
            )
        ) from problem
    del starlette, uvicorn


def serve(
    paths: Sequence[Path],
    *,
    port: int = 0,
    keep: Path | None = None,
    browser: bool = True,
    memory: bool = True,
    say: Callable[[str], None] = print,
) -> None:
    """Run the desk until it is closed on its page, or interrupted.

    paths: files to lay on it as one case; they stay where they are
    port:  0 for any that is free
    keep:  the folder in which dropped files and settings are kept; None for a private one that is
           removed at the end
    Raises a `TuneledgerError` where a path, the folder or the port cannot be used.
    """
    check_installed()
    gc.enable()  # one command is one short process; this one is not
    limits = desk_limits()
    # Ctrl-C is a usual way to close it.
    with _ended_by_signals(), suppress(KeyboardInterrupt), _folder(keep) as folder:
        drawer = Drawer(folder, Terms(limits, memory), kept=keep is not None)
        try:
            first = drawer.lay(paths).name if paths else ""
            with _socket(port) as listening:
                _run(drawer, listening, first, browser=browser, say=say)
        finally:
            drawer.close()
    say(f"The desk is closed; its files are {_left(keep)}.\n")


def _run(
    drawer: Drawer,
    listening: socket.socket,
    first: str,
    *,
    browser: bool,
    say: Callable[[str], None],
) -> None:
    import uvicorn

    from tuneledger.desk.app import Desk, application

    token = secrets.token_urlsafe(24)
    port = listening.getsockname()[1]
    hosts = (f"{LOOPBACK}:{port}", f"localhost:{port}")
    desk = Desk(drawer)
    config = uvicorn.Config(
        application(desk, token, hosts),
        http="h11",
        ws="none",
        lifespan="off",
        # A fault of the program is told on the page; its trace is for whoever looks for it.
        log_level="error" if os.environ.get("TUNELEDGER_DEBUG") == "1" else "critical",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=_STOPS_IN,
    )
    server = uvicorn.Server(config)

    def stop() -> None:
        server.should_exit = True

    desk.stop = stop
    address = f"http://{hosts[0]}/{token}/"
    say(
        f"The desk is open: {address}\n"
        "It can be reached from this machine alone. Close it on its page, or here with Ctrl-C.\n"
    )
    if first:
        drawer.read(drawer.cases[first])
        address += f"cases/{first}/"
    if browser:
        webbrowser.open(address)
    server.run(sockets=[listening])


@contextmanager
def _ended_by_signals() -> Iterator[None]:
    """A program that is told to end, or whose terminal is closed, still clears up after itself.

    uvicorn stops at an interrupt or a request to end, and then raises that signal once more.
    """

    def end(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    names = [name for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), end) for name in names}
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)


@contextmanager
def _folder(keep: Path | None) -> Iterator[Path]:
    """A folder that only this user may look into."""
    if keep is None:
        private = PrivateFolder("desk")
        try:
            yield private.path
        finally:
            private.remove()
        return
    try:
        keep.mkdir(parents=True, exist_ok=True, mode=0o700)
        (keep / ".part").touch()
        (keep / ".part").unlink()
    except OSError as problem:
        found = f"cannot be used as the desk's folder ({problem.strerror or problem})"
        raise OutputError(Fault(found, file=str(keep), do="Choose another one.")) from problem
    yield keep.resolve()


@contextmanager
def _socket(port: int) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as listening:
        if os.name == "posix":  # elsewhere the option would let another program take the port
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((LOOPBACK, port))
            listening.listen()
        except OSError as problem:
            raise UsageError(
                Fault(
                    f"port {port} cannot be used ({problem.strerror or problem})",
                    do="Name another with --port, or leave it out for any that is free.",
                )
            ) from problem
        yield listening


def _left(keep: Path | None) -> str:
    return f"kept in {keep}" if keep else "removed"
