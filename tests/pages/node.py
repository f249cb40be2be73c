"""The page's own modules, run without a browser."""

import json
import shutil
import subprocess
from importlib.resources import files
from typing import Any

import pytest

needs_node = pytest.mark.skipif(shutil.which("node") is None, reason="no JavaScript runtime here")


def told(imports: dict[str, str], script: str, task: Any = None) -> Any:
    """What a script gives to `tell`; it knows `task` and the names imported, each from a module."""
    web = files("tuneledger.pages").joinpath("web")
    lines = [
        f"import {{ {names} }} from {json.dumps(f'file://{web}/{module}')};"
        for module, names in imports.items()
    ]
    tell = "const tell = (value) => console.log(JSON.stringify(value));"
    run = subprocess.run(
        ["node", "--input-type=module", "-"],
        input="\n".join([*lines, tell, f"const task = {json.dumps(task)};", script]),
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(run.stdout)
