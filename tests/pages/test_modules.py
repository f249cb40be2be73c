"""Python and the modules agree on what a page holds."""

import re
import shutil
import subprocess
from importlib.resources import files
from pathlib import Path
from typing import get_type_hints, is_typeddict

import pytest

from tuneledger.pages import pack, shape
from tuneledger.pages.document import modules

WEB = Path(str(files("tuneledger.pages").joinpath("web")))
SHAPES = {
    name: set(get_type_hints(kind))
    for name, kind in {**vars(shape), **vars(pack)}.items()
    if is_typeddict(kind)
}


def documented() -> dict[str, set[str]]:
    """Type name → keys, as `types.js` has them."""
    found: dict[str, set[str]] = {}
    for block in (WEB / "types.js").read_text().split("@typedef {object} ")[1:]:
        name, _, rest = block.partition("\n")
        found[name.strip()] = set(re.findall(r"@property \{.*\} (\w+)", rest))
    return found


def test_the_modules_are_told_of_every_key_that_is_written() -> None:
    assert documented() == SHAPES


@pytest.mark.parametrize("shape_name", sorted(SHAPES))
def test_every_key_that_is_written_is_read(shape_name: str) -> None:
    sources = "\n".join(text for name, text in modules().items() if "types" not in name)
    code = re.sub(r"/\*\*.*?\*/", "", sources, flags=re.S)
    unread = {key for key in SHAPES[shape_name] if not re.search(rf"[.{{,]\s*{key}\b", code)}
    assert unread == set()


def test_modules_import_only_one_another() -> None:
    known = modules()
    for name, text in known.items():
        for wanted in re.findall(r'(?:from|import)\s+"([^"]+)"', text):
            assert wanted in known, f"{name} imports {wanted}"
        assert "http" not in re.sub(r"//.*", "", text)
        assert "innerHTML" not in text


def test_rooms_stay_small() -> None:
    assert {name: n for name, text in modules().items() if (n := text.count("\n")) > 275} == {}


@pytest.mark.skipif(shutil.which("node") is None, reason="no JavaScript runtime here")
def test_every_module_is_valid() -> None:
    script = (
        "const [fs, vm] = [require('fs'), require('vm')];"
        "for (const f of process.argv.slice(1)) new vm.SourceTextModule(fs.readFileSync(f, 'utf8'))"
    )
    sources = [str(path) for path in sorted(WEB.glob("*.js"))]
    run = ["node", "--no-warnings", "--experimental-vm-modules", "-e", script, *sources]
    subprocess.run(run, check=True, capture_output=True)


@pytest.mark.skipif(shutil.which("tsc") is None, reason="no TypeScript checker here")
def test_types_in_the_modules_hold() -> None:
    run = subprocess.run(["tsc", "-p", str(WEB)], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout
