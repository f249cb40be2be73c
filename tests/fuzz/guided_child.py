"""One format under atheris: `python -m tests.fuzz.guided_child FORMAT ARGUMENT…`.

The readers are instrumented while they are imported, so nothing of them may be imported before.
"""

import importlib
import pkgutil
import sys
import tempfile
from pathlib import Path

import atheris

LATE = ("calibrations", "logs.delimited", "roles", "units", "change.edits")  # imported when needed

with atheris.instrument_imports(include=["tuneledger"]):
    import tuneledger
    from tests.fuzz.uses import USES
    from tuneledger.errors import TuneledgerError

    for found in pkgutil.walk_packages(tuneledger.__path__, "tuneledger."):
        if found.name.removeprefix("tuneledger.").startswith(LATE):
            importlib.import_module(found.name)


def main() -> None:
    form, *rest = sys.argv[1:]
    use = USES[form]
    with tempfile.TemporaryDirectory(prefix="tuneledger-fuzz-") as folder:
        file = Path(folder) / "damaged"

        def once(data: bytes) -> None:
            file.write_bytes(data)
            try:
                use(file)
            except TuneledgerError:
                return

        atheris.Setup([sys.argv[0], *rest], once)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
