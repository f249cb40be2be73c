"""The kinds of cases, and how a case of a kind is thrown until it fits."""

from collections.abc import Callable

import numpy as np

from tuneledger.car.cases.case import Case
from tuneledger.car.cases.delivery import slow_or_noisy
from tuneledger.car.cases.faults import log_at_fault
from tuneledger.car.cases.held import held
from tuneledger.car.cases.hidden import along, seldom, threshold, timed, with_switch
from tuneledger.car.cases.inturn import changed_on_the_way
from tuneledger.car.cases.lies import a_channel_lies
from tuneledger.car.cases.memory import limit_or_memory
from tuneledger.car.cases.ordinary import idle_only, nothing, switch_or_guard, temperature
from tuneledger.car.cases.several import at_once, odd
from tuneledger.car.cases.stale import among_several, other_map, right_one_missing
from tuneledger.car.cases.story import Story, UnfitError
from tuneledger.car.cases.telling import tell
from tuneledger.car.cases.unseen import not_logged

Teller = Callable[[np.random.Generator], Story]

KINDS: dict[str, Teller] = {
    "A": nothing,
    "B": idle_only,
    "C": temperature,
    "D": switch_or_guard,
    "E": among_several,
    "E2": right_one_missing,
    "F": other_map,
    "G": limit_or_memory,
    "H1": threshold,
    "H2": with_switch,
    "H3": along,
    "H4": timed,
    "I": at_once,
    "J": log_at_fault,
    "K": odd,
    "L": changed_on_the_way,
    "H5": seldom,
    "M": not_logged,
    "N": held,
    "O": a_channel_lies,
    "P": slow_or_noisy,
}
"""Kind → what makes a story of it; its docstring says what the kind is about."""

THROWS = 60


def make_case(kind: str, seed: int) -> Case:
    """The case of that kind and seed. KeyError for a kind that is not in KINDS."""
    teller, number = KINDS[kind], list(KINDS).index(kind)
    why = ""
    for throw in range(THROWS):
        rng = np.random.default_rng((seed, number, throw))
        try:
            return tell(teller(rng), kind, seed)
        except UnfitError as fault:
            why = str(fault)
    raise UnfitError(f"no case of kind {kind} with seed {seed} in {THROWS} throws: {why}")
