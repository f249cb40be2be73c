"""The page docs/accuracy.md: what was measured, on what, when, and every miss."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from benchmarks.report import case_table, kind_table, miss_list, reliability
from benchmarks.score import Score

HEAD = """\
# Accuracy

Written by `make bench`; do not edit. Measured on {day} with tuneledger {version}.

A case is a log with its sheets and a known truth. The tool gets the log and the sheets, nothing
else. What is asked of each answer:

- **verdict**: one of those that the truth accepts.
- **first cause**: the cause of rank 1 is one that may rightly stand there: kind, correction,
  revision and sign. For a rule that no file holds it is enough to call it one; whether the rule is
  right is asked below.
- **running**: the running revision, or rightly none.
- **spans**: which revision ran when; where none changed, no change is told. A change is right
  within a second of the moments between which the log can place it.
- **roles**: every channel that the case turns on has its signal; what is not logged has none.
- **episodes**: at least 0.7 of the episode time is common to truth and answer (intersection over
  union); none where nothing is wrong.
- **entries**: each entry that can be computed is within 0.15° rms plus half a step of the logged
  advance, and computed in nine of ten samples in which it acts.
- **unaccounted**: where the files explain everything, 95 % of the samples balance within one
  tolerance and so does every episode's mean.
- **false causes**: no cause with certainty 0.8 or more that is not so, or is told twice.
- **needs**: what is missing is asked for.
- **exit**: the exit status belongs to the verdict.
- **rule**: a hidden rule predicts another drive of the same car: within 0.5° rms, or 95 % of the
  samples within 0.3°. Asked only where the log allows no other rule of the same length that says
  something else on that drive (`tuneledger.car.cases.apart` looks for such rivals).
  Not asked in kind M, where the log lacks what the rule reads: there a rule given with 0.8 or more
  that does not predict the other drive is a false cause.
- **listed**: where the log does allow others, one that predicts the other drive is given, first
  or among the alternatives.

"·" is what a case does not ask.
"""

SHARED = """
## Shared cases

{count} cases made elsewhere, by another generator, each with a different fault.

{cases}

### Per kind

{kinds}

### Misses

{misses}
"""

MADE = """
## Made cases

{count} cases of the virtual car (`tuneledger.car.cases`), all kinds in turn, seeds from {seed}.
Development looks at other seeds.

Made cases are filtered, by the generator and never by an answer of the tool. A throw of the dice
is thrown again (60 times at most) where what it is about does not show: the featured correction
acts in less than 1.5 % of the rows, or in nearly all; something else acts too; a quiet case is not
quiet; the entries do not follow from the rounded numbers that the log holds, so that nobody could
be asked for them; a hidden rule does not act and rest on the other drive; of a change on the way
one side is seen for less than 1.2 s. So the figures are about logs that can tell, not about all.

{kinds}

{summary}

### Misses

{misses}

### Is certainty honest?

Of the causes given with a certainty of 0.9, nine in ten should be right. A hidden rule counts as
right only if it predicts the other drive, whether the log could tell it or not. What certainty is
computed from was set on other seeds (910001 to 940000, 31000000 to 31200000) than these.

{reliability}
"""

TOLD = """
## Told which channel is which

The same made cases once more, with a roles file that names every channel and its unit: what is
missed here is missed by the explanation and not by the reading of names.

{kinds}

{summary}
"""

PEER = """
## The peer

The same made cases, put to what a competent analyst would write in a notebook with pandas, an
interpolated map and a decision tree of depth 3 on what is left over (`benchmarks/peer.py`). It is
told which channel is which, in which unit, and the step of the logged advance.

{kinds}

{summary}
"""


@dataclass(frozen=True)
class Part:
    """One set of scores; `seed` is the first seed where the cases were made."""

    title: str
    scores: Sequence[Score]
    seed: int | None = None


def page(parts: Sequence[Part]) -> str:
    """The whole page."""
    from importlib.metadata import version

    text = HEAD.format(day=date.today().isoformat(), version=version("tuneledger"))
    forms = {
        "Shared cases": SHARED,
        "Made cases": MADE,
        "Told which channel is which": TOLD,
        "The peer": PEER,
    }
    for part in parts:
        text += forms[part.title].format(
            count=len(part.scores),
            seed=part.seed,
            cases=case_table(part.scores),
            kinds=kind_table(part.scores),
            misses=miss_list(part.scores, most=80),
            reliability=reliability(part.scores),
            summary=summary(part.scores),
        )
    return text


def summary(scores: Sequence[Score]) -> str:
    """The figures by which two tools are compared, in words."""
    quiet = [score for score in scores if score.kind.startswith("A")]
    false = sum(int(score.point("false causes").figure or 0) for score in scores)
    alarms = sum(
        not all(p.ok in (True, None) for p in score.points if p.name in _ALARM) for score in quiet
    )
    lines = [
        f"- first cause right in {_share(scores, 'first cause')}",
        f"- running revision right in {_share(scores, 'running')}",
        f"- verdict right in {_share(scores, 'verdict')}",
        f"- false causes with certainty 0.8 or more: {false} in {len(scores)} cases",
        f"- false alarms where nothing is wrong: {alarms} in {len(quiet)} cases",
    ]
    return "\n".join(lines)


_ALARM = ("verdict", "episodes", "false causes")


def _share(scores: Sequence[Score], question: str) -> str:
    asked = [ok for ok in (score.point(question).ok for score in scores) if ok is not None]
    if not asked:
        return "no case that asks it"
    return f"{sum(asked) / len(asked):.1%} ({sum(asked)} of {len(asked)})"
