"""docs/audit.md kept in step: `python -m tuneledger.audit.docs docs/audit.md demo`.

Between its marks stand the checks' pages, out of their docstrings, and what the audit says of the
demo's sheets. What stands outside the marks is written by hand.
"""

import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path

from tuneledger.audit.job import audit_files
from tuneledger.audit.registry import CHECKS, module_of
from tuneledger.audit.text import as_text

SHOWN = (("rev-d.toml",), ("rev-c.toml", "rev-d.toml"))


def pages() -> str:
    """Every check's page, in the registry's order: its first line is the title."""
    return "\n".join(_page(name) for name in CHECKS)


def _page(name: str) -> str:
    title, _, body = (import_module(module_of(name)).__doc__ or "").strip().partition("\n")
    return f"### {name}\n\n*{title}.* {body.strip()}\n"


def kestrel(demo: Path) -> str:
    """The worked example, as the command prints it where it is piped."""
    return "\n".join(_printed(demo, names) for names in SHOWN)


def _printed(demo: Path, names: Sequence[str]) -> str:
    said = as_text(audit_files([demo / name for name in names]))
    command = f"$ tuneledger audit {' '.join(f'demo/{name}' for name in names)}"
    return f"```text\n{command}\n{said.rstrip()}\n```\n"


def brought_up_to_date(page: str, demo: Path) -> str:
    """The page with what stands between its marks made anew. ValueError where it lacks one."""
    for name, text in (("checks", pages()), ("kestrel", kestrel(demo))):
        begin, end = f"<!-- {name} -->\n", f"<!-- /{name} -->\n"
        before, begun, rest = page.partition(begin)
        _, ended, after = rest.partition(end)
        if not (begun and ended):
            raise ValueError(f"the page lacks {begin.strip()} or {end.strip()}")
        page = f"{before}{begin}\n{text}\n{end}{after}"
    return page


if __name__ == "__main__":
    path = Path(sys.argv[1])
    text = brought_up_to_date(path.read_text(encoding="utf-8"), Path(sys.argv[2]))
    path.write_text(text, encoding="utf-8")
