"""Cases with known truth: a made-up run, its log, the sheets handed over, and what is true.

    from tuneledger.car.cases import make_case, write_case
    write_case(make_case("C", seed=7), folder)

The same kind and seed give the same bytes. Truth comes from the virtual ECU's own bookkeeping.
"""

from tuneledger.car.cases.case import Case, write_case
from tuneledger.car.cases.kinds import KINDS, make_case

__all__ = ["KINDS", "Case", "make_case", "write_case"]
