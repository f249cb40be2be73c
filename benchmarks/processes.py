"""Fresh processes, measured: wall-clock time and peak resident memory of each."""

import os
import statistics
import subprocess
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Command = Sequence[str]


@dataclass(frozen=True, slots=True)
class Cost:
    """What runs of one command cost, as medians.

    seconds: by the wall clock; cpu: user and system time of all its threads; megabytes: peak
    resident memory
    """

    seconds: float
    cpu: float
    megabytes: float


def run_once(command: Command, accepted: Sequence[int] = (0,)) -> Cost:
    """The cost of one fresh process. RuntimeError where it fails."""
    began = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    assert process.stderr is not None
    said = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - began
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in accepted:
        raise RuntimeError(f"{command[:4]} ended with {process.returncode}: {said.decode()[-500:]}")
    kilobytes = usage.ru_maxrss
    return Cost(seconds, usage.ru_utime + usage.ru_stime, kilobytes / 1024)


def compare(
    commands: Mapping[str, Command], rounds: int, accepted: Sequence[int] = (0,)
) -> dict[str, Cost]:
    """Medians of several rounds, the commands in turn, so that a busy machine hits them alike.

    A first round that warms the file cache is not counted.
    """
    runs: dict[str, list[Cost]] = {name: [] for name in commands}
    for number in range(rounds + 1):
        for name, command in commands.items():
            cost = run_once(command, accepted)
            if number:
                runs[name].append(cost)
    return {name: _median(costs) for name, costs in runs.items()}


def _median(costs: Sequence[Cost]) -> Cost:
    return Cost(
        statistics.median(cost.seconds for cost in costs),
        statistics.median(cost.cpu for cost in costs),
        statistics.median(cost.megabytes for cost in costs),
    )
