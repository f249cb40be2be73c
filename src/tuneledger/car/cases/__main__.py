"""python -m tuneledger.car.cases --kind C --seed 7 FOLDER"""

import argparse
from pathlib import Path

from tuneledger.car.cases import KINDS, make_case, write_case


def main() -> None:
    """Make one case from the command line and write it into a folder."""
    parser = argparse.ArgumentParser(description="Make a case with known truth.")
    parser.add_argument("--kind", choices=list(KINDS), required=True)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("folder", type=Path)
    given = parser.parse_args()
    case = make_case(given.kind, given.seed)
    write_case(case, given.folder)
    print(f"{case.truth['variant']}: {', '.join(sorted(case.files))}")


if __name__ == "__main__":
    main()
