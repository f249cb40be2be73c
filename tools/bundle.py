"""One archive per system with all that tuneledger needs, for a laptop without a network.

`python tools/bundle.py linux windows macos` writes `dist/tuneledger-<system>.zip`: the wheels of
the lock, tuneledger's own, the demo, and a start script that needs nothing but Python itself.
Wheels belong to one version of Python; the archive is for the version that makes it, and says so.
"""

import os
import re
import stat
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
VERSION = sys.version_info[:2]
PYTHON = f"{VERSION[0]}.{VERSION[1]}"
PLATFORMS = {
    "linux": ("manylinux_2_28_x86_64", "manylinux_2_17_x86_64", "manylinux2014_x86_64"),
    "windows": ("win_amd64",),
    "macos": ("macosx_14_0_arm64", "macosx_12_0_arm64", "macosx_11_0_arm64"),
}
UNIX = f"""#!/bin/sh
# Installs tuneledger beside this file, without a network, and opens the desk.
cd "$(dirname "$0")" || exit 1
python="${{PYTHON:-python{PYTHON}}}"
command -v "$python" >/dev/null || python=python3
if [ ! -x .venv/bin/tuneledger ]; then
  "$python" -c 'import sys; sys.exit(sys.version_info[:2] != {VERSION})' || {{
    echo "This archive is for Python {PYTHON}; name one with: PYTHON=/path/to/it $0"; exit 1; }}
  "$python" -m venv .venv || exit 1
  .venv/bin/python -m pip install -qq --disable-pip-version-check --no-index \\
    --find-links wheels 'tuneledger[desk]' || exit 1
fi
[ $# -gt 0 ] || set -- desk
exec .venv/bin/tuneledger "$@"
"""
WINDOWS = f"""@echo off\r
rem Installs tuneledger beside this file, without a network, and opens the desk.\r
cd /d "%~dp0"\r
if not exist .venv\\Scripts\\tuneledger.exe (\r
  py -{PYTHON} -m venv .venv || (echo This archive needs Python {PYTHON}. & pause & exit /b 1)\r
  .venv\\Scripts\\python -m pip install -qq --disable-pip-version-check --no-index ^\r
    --find-links wheels "tuneledger[desk]" || (pause & exit /b 1)\r
)\r
if "%~1"=="" (.venv\\Scripts\\tuneledger desk) else (.venv\\Scripts\\tuneledger %*)\r
"""
READ_ME = f"""tuneledger without a network

Needs Python {PYTHON} and nothing else. Unpack, then run:

  Linux, macOS   sh start.sh            the first run installs beside it, then the desk opens
  Windows        start.bat

Anything behind it is a command: sh start.sh reconcile demo/climb.csv demo/rev-d.toml
"""


def main() -> None:
    """Build the archives of the systems that are named, all where none is."""
    systems = sys.argv[1:] or list(PLATFORMS)
    unknown = [system for system in systems if system not in PLATFORMS]
    if unknown:
        sys.exit(f"No such system: {', '.join(unknown)}. There are {', '.join(PLATFORMS)}.")
    (ROOT / "dist").mkdir(exist_ok=True)
    for system in systems:
        with tempfile.TemporaryDirectory() as folder:
            _fetch(system, Path(folder))
            print(f"dist/{_pack(system, Path(folder)).name}, for Python {PYTHON}")


def _fetch(system: str, wheels: Path) -> None:
    """The lock's wheels for that system, each held against its hash, and tuneledger's own."""
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "-q"]
    lock = wheels / "lock.txt"
    lock.write_text(_lock_for(system), encoding="utf-8")
    platforms = [part for name in PLATFORMS[system] for part in ("--platform", name)]
    subprocess.run(
        [*pip, "download", "--require-hashes", "--no-deps", "--only-binary", ":all:", *platforms,
         "--python-version", PYTHON, "-d", str(wheels), "-r", str(lock)],
        check=True,
    )  # fmt: skip
    own = [*pip, "wheel", "--no-deps", "--no-build-isolation", "-w", str(wheels), str(ROOT)]
    subprocess.run(own, check=True)


def _lock_for(system: str) -> str:
    """The lock with its markers answered for that system, since pip asks only about its own."""
    from packaging.markers import Marker

    names = {"linux": "linux", "windows": "win32", "macos": "darwin"}
    where = {"sys_platform": names[system], "os_name": "nt" if system == "windows" else "posix"}
    where["platform_system"] = {"macos": "Darwin"}.get(system, system.title())
    where["python_version"] = PYTHON
    kept = []
    text = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    for pin in re.findall(r"^\S.*?(?=^\S|\Z)", text, re.MULTILINE | re.DOTALL):
        found = re.match(r"(\S+) ; (.*?) \\\n", pin)
        if found is None:
            kept.append(pin)
        elif Marker(found[2]).evaluate(where):
            kept.append(pin.replace(f" ; {found[2]}", "", 1))
    return "".join(kept)


def _pack(system: str, wheels: Path) -> Path:
    target = ROOT / "dist" / f"tuneledger-{system}.zip"
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        top = f"tuneledger-{system}"
        for wheel in sorted(wheels.glob("*.whl")):
            archive.write(wheel, f"{top}/wheels/{wheel.name}", zipfile.ZIP_STORED)
        for path in sorted((ROOT / "demo").iterdir()):
            archive.write(path, f"{top}/demo/{path.name}")
        archive.write(ROOT / "LICENSE", f"{top}/LICENSE")
        archive.writestr(f"{top}/README.txt", READ_ME)
        if system == "windows":
            archive.writestr(f"{top}/start.bat", WINDOWS)
        else:
            start = zipfile.ZipInfo(f"{top}/start.sh")
            start.external_attr = (stat.S_IFREG | 0o755) << 16
            archive.writestr(start, UNIX)
    return target


if __name__ == "__main__":
    os.chdir(ROOT)
    main()
