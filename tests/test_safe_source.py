"""What the package's own sources never do with a stranger's file: run it, unpickle it, send it."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "src" / "tuneledger"
SOURCES = sorted(PACKAGE.rglob("*.py"))

# Modules that run or unpickle what they are given, or reach other machines.
RUN = {"pickle", "marshal", "shelve", "code", "codeop", "runpy", "imp", "dill", "joblib"}
REACH = {"socket", "ssl", "http", "urllib", "ftplib", "smtplib", "telnetlib", "xmlrpc", "requests"}
# The desk listens on the loopback address, and quotes a name for a header.
ALLOWED = {("desk/serve.py", "socket"), ("desk/app.py", "urllib.parse")}
CALLS = {"eval", "exec", "compile", "__import__"}


def where(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module or ""


def called(tree: ast.AST) -> Iterator[tuple[str, ast.Call]]:
    """Names and last parts of what is called: `eval`, and `load` of `numpy.load`."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name):
                yield node.func.id, node
            elif isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Name):
                yield f"{node.func.value.id}.{node.func.attr}", node


def faults(path: Path, text: str) -> list[str]:
    tree = ast.parse(text)
    found = [
        f"imports {name}"
        for name in imported(tree)
        if name.partition(".")[0] in RUN | REACH and (where(path), name) not in ALLOWED
    ]
    for name, node in called(tree):
        shell = any(word.arg == "shell" for word in node.keywords)
        if name in CALLS or name in ("os.system", "os.popen", "np.load") or shell:
            found.append(f"calls {name}")
    return found


def test_nothing_of_a_file_is_run_unpickled_or_sent() -> None:
    found = {where(path): faults(path, path.read_text(encoding="utf-8")) for path in SOURCES}
    assert {path: said for path, said in found.items() if said} == {}


@pytest.mark.parametrize(
    "text",
    [
        "import pickle",
        "from urllib.request import urlopen",
        "eval('1')",
        "def f():\n    import socket",
        "import subprocess\nsubprocess.run('ls', shell=True)",
        "import numpy as np\nnp.load('x', allow_pickle=True)",
    ],
)
def test_the_look_out_sees_what_it_is_for(text: str) -> None:
    assert faults(PACKAGE / "logs" / "x.py", text)
