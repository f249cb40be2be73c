"""The archive for a laptop without a network, as far as it can be tried without one."""

import importlib.util
import re
import shutil
import subprocess
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def bundle() -> ModuleType:
    spec = importlib.util.spec_from_file_location("bundle", ROOT / "tools" / "bundle.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("system", ["linux", "windows", "macos"])
def test_every_pin_of_an_archive_s_lock_is_the_lock_s_own(bundle: ModuleType, system: str) -> None:
    whole = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    made = bundle._lock_for(system)
    assert " ; " not in made, "markers are answered"
    pins = re.findall(r"^([a-z0-9-]+==\S+)", made, re.MULTILINE)
    assert set(pins) <= set(re.findall(r"^([a-z0-9-]+==[^\s;]+)", whole, re.MULTILINE))
    assert {"numpy", "polars", "starlette", "uvicorn"} <= {pin.partition("==")[0] for pin in pins}


def test_a_marker_is_answered_for_the_system_that_the_archive_is_for(
    bundle: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lock = "a==1 ; sys_platform == 'win32' \\\n    --hash=sha256:0\nb==2 \\\n    --hash=sha256:1\n"
    (tmp_path / "requirements.lock").write_text(lock)
    monkeypatch.setattr(bundle, "ROOT", tmp_path)
    assert bundle._lock_for("windows").startswith("a==1 \\\n    --hash=sha256:0\nb==2")
    assert bundle._lock_for("linux") == "b==2 \\\n    --hash=sha256:1\n"


@pytest.mark.skipif(shutil.which("sh") is None, reason="no shell here")
def test_the_start_script_is_one(bundle: ModuleType) -> None:
    subprocess.run(["sh", "-n"], input=bundle.UNIX, text=True, check=True)
    assert bundle.WINDOWS.count("\r\n") == bundle.WINDOWS.count("\n")
