"""Commands are run in this process, on statements made by hand instead of files."""

import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from tuneledger.statement.model import Statement

Answering = Callable[[Statement | BaseException], None]


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("TUNELEDGER_DEBUG", raising=False)
    Path("log.csv").write_text("t,a\n0,1\n")


@pytest.fixture
def calls() -> list[dict[str, object]]:
    """How the library was called."""
    return []


@pytest.fixture
def answering(monkeypatch: pytest.MonkeyPatch, calls: list[dict[str, object]]) -> Answering:
    """Makes the library answer with this statement, or fail with this error."""

    def answer(with_: Statement | BaseException) -> None:
        def reconcile_files(paths: object, **options: object) -> Statement:
            calls.append({"paths": paths, **options})
            if isinstance(with_, BaseException):
                raise with_
            return with_

        library = SimpleNamespace(reconcile_files=reconcile_files)
        monkeypatch.setitem(sys.modules, "tuneledger.main_job", library)

    return answer
