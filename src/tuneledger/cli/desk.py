"""`tuneledger desk`: the page served on this machine, with files dropped on it."""

import sys
from pathlib import Path

import click

from tuneledger.cli.memory import hand_back_freed
from tuneledger.cli.sizes import large
from tuneledger.cli.terminal import say

FILE = click.Path(path_type=Path, readable=False)


@click.command("desk")
@click.argument("paths", nargs=-1, type=FILE, metavar="[FILE]...")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="0: any that is free.")
@click.option(
    "--keep",
    type=FILE,
    metavar="FOLDER",
    help="Keep dropped files and what was said of them here; opened again with the same option.",
)
@click.option("--no-browser", is_flag=True, help="Only print the address.")
@click.option("--no-memory", is_flag=True, help="Neither use nor keep roles of earlier logs.")
@large
def command(
    paths: tuple[Path, ...],
    port: int,
    keep: Path | None,
    no_browser: bool,
    no_memory: bool,
) -> int:
    """Open the desk: drop files on a page, look, correct, rehearse.

    FILE... are logs and sheets to begin with. On the page, choose which sheet is said to run, put
    a channel right, switch a correction off and see what would have been delivered; accept a cause
    or note something; save page, statement, ledger, sheet.

    It listens on this machine's loopback address alone, behind a token in the address. Dropped
    files lie in a private folder that is removed at the end, unless --keep names one. It is closed
    on its page, or here with Ctrl-C.

    It needs two libraries, the extra 'desk': pip install starlette uvicorn

    Exit status: 0 it was closed, on its page or here; 2 a file, the folder or the port could not be
    used. What a statement says stands on the page, not in the status.
    """
    hand_back_freed()
    from tuneledger.desk.serve import serve

    serve(
        paths,
        port=port,
        keep=keep,
        browser=not no_browser,
        memory=not no_memory,
        say=lambda text: say(text, sys.stderr),
    )
    return 0
