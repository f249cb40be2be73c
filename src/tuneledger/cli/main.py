"""The program: runs a command, and turns whatever happens into words and an exit status.

0 nothing to say, 1 something to say, 2 input or output not usable, 3 cannot tell; 70 a fault of
the program itself, 130 interrupted.
"""

import atexit
import gc
import os
import signal
import sys
import warnings
from collections.abc import Sequence
from io import StringIO
from types import FrameType
from typing import NoReturn

import click

from tuneledger.cli.group import commands
from tuneledger.cli.terminal import open_what_is_closed, say
from tuneledger.errors import TuneledgerError

NOT_USABLE = 2
OWN_FAULT = 70
INTERRUPTED = 130
_TURN_S = 0.0005


def main() -> None:
    """Entry point of the console script."""
    open_what_is_closed()
    if os.environ.get("TUNELEDGER_DEBUG") != "1":
        warnings.simplefilter("ignore")  # they speak to programmers, in the middle of an answer
    # pydantic searches every installed package for plugins of its own; none is wanted here.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # One command is one short process: walking the hundred thousand objects that its imports make,
    # again and again, costs a seventh of its time and frees nothing.
    gc.disable()
    # No big matrix is multiplied here; waiting threads of the linear algebra cost the reading time.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    _end_tidily()
    # Two threads that work on whole columns by turns take over from each other within this, in
    # seconds: Python's own ten times as long leaves one of them waiting for the other.
    sys.setswitchinterval(_TURN_S)
    _leave(run(sys.argv[1:]))


def _end_tidily() -> None:
    """A program that is told to end, or whose terminal is closed, still removes what it unpacked.

    A signal that somebody has chosen to ignore (as `nohup` does) stays ignored.
    """

    def end(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) == signal.SIG_DFL:
            signal.signal(number, end)


def _leave(status: int) -> NoReturn:
    """End the process, without taking apart first what the system frees anyway.

    Python would do so object by object, a big log's included: a tenth of the whole time.
    """
    atexit._run_exitfuncs()  # folders of unpacked files are removed
    try:
        for stream in (sys.stdout, sys.stderr):
            stream.flush()
    except OSError:
        status = status or NOT_USABLE
    os._exit(status)


def run(arguments: Sequence[str]) -> int:
    """Run one command; never raises, save for the end that click itself asks for."""
    try:
        status = commands.main(list(arguments), prog_name="tuneledger", standalone_mode=False)
    except click.exceptions.Abort:
        say("Stopped.\n", sys.stderr)
        return INTERRUPTED
    except click.ClickException as problem:
        say(_wrong_call(problem), sys.stderr)
        return problem.exit_code
    except TuneledgerError as problem:
        return _tell(problem)
    except SystemExit:  # click, where whoever reads a help has gone away: that is no error
        return 0
    except GeneratorExit:
        raise
    except KeyboardInterrupt:
        say("Stopped.\n", sys.stderr)
        return INTERRUPTED
    except OSError as problem:
        return _unprinted() or _apologise(problem)
    except BaseException as problem:  # a panic inside a library is no Exception
        return _apologise(problem)
    return status if isinstance(status, int) else 0


def _wrong_call(problem: click.ClickException) -> str:
    shown = StringIO()
    problem.show(shown)
    return shown.getvalue()


def _unprinted() -> int:
    """The status where click could not print a help: what is left of it fails again; else 0."""
    try:
        say("")
    except TuneledgerError as problem:
        return _tell(problem)
    return 0


def _tell(problem: TuneledgerError) -> int:
    from tuneledger.wording import visible

    say("".join(f"{visible(str(fault))}\n" for fault in problem.faults), sys.stderr)
    return problem.exit_status


def _apologise(problem: BaseException) -> int:
    import platform
    import traceback
    from pathlib import Path

    from tuneledger import __version__
    from tuneledger.wording import visible

    if os.environ.get("TUNELEDGER_DEBUG") == "1":
        traceback.print_exception(problem)
        return OWN_FAULT
    frames = traceback.extract_tb(problem.__traceback__)
    own = [frame for frame in frames if "tuneledger" in Path(frame.filename).parts] or frames
    place = f"{Path(own[-1].filename).name}, line {own[-1].lineno}" if own else "unknown place"
    what = visible(f"{type(problem).__name__}: {problem}")
    say(
        "Sorry: tuneledger stopped at a fault of its own; your files are not to blame.\n"
        "Please report it with the command that you gave, the files if you may, and this line:\n"
        f"  {what} ({place}; tuneledger {__version__}, Python {platform.python_version()})\n"
        "With TUNELEDGER_DEBUG=1 set, the same command shows the whole trace.\n",
        sys.stderr,
    )
    return OWN_FAULT
