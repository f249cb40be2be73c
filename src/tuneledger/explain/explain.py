"""From opened books to an explanation: which sheet, which causes, what verdict."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tuneledger.arrays import FloatArray
from tuneledger.calibrations.model import readings
from tuneledger.explain import brief
from tuneledger.explain.account import carry_out
from tuneledger.explain.beyond import (
    OpenedBook,
    as_handed_over,
    beyond_the_sheets,
    look,
    next_rule,
)
from tuneledger.explain.causes import entry_causes, ranked, small_causes
from tuneledger.explain.experiments import Experiment, experiments, with_experiments
from tuneledger.explain.extracauses import extra_causes
from tuneledger.explain.finding import Finding, look_further
from tuneledger.explain.headline import headline
from tuneledger.explain.inturn import moments, running_in_turn
from tuneledger.explain.leftover.model import Extra
from tuneledger.explain.loading import Loading, loading
from tuneledger.explain.mapcause import map_cause, map_departures, map_episodes, other_car_notes
from tuneledger.explain.mislabelled import car_first, label_causes
from tuneledger.explain.model import STILL, Cause, Need, Running
from tuneledger.explain.running import Trial, choose, not_judged, running, try_sheet
from tuneledger.explain.silent import silences
from tuneledger.explain.spans import map_fits
from tuneledger.explain.together import together
from tuneledger.explain.undecided import notes as open_notes
from tuneledger.explain.undecided import undecided
from tuneledger.explain.unknown import unknown_causes
from tuneledger.explain.verdict import Verdict, verdict
from tuneledger.ledger.episodes import Run, departures, episode
from tuneledger.ledger.model import Episode, Ledger
from tuneledger.roles.model import Doubt
from tuneledger.sidebyside import side_by_side
from tuneledger.wording import listing, share


@dataclass(frozen=True, eq=False)
class Explanation:
    """All that the logs say together; one ledger per log."""

    ledgers: tuple[Ledger, ...]
    running: Running | None
    episodes: tuple[Episode, ...]
    causes: tuple[Cause, ...]
    verdict: Verdict
    headline: str
    needs: tuple[Need, ...]
    notes: tuple[str, ...]
    loading: Loading | None = None
    experiments: tuple[Experiment, ...] = ()


def explain(opened: Sequence[OpenedBook], carriers: Mapping[str, str]) -> Explanation:
    """Explain one car's logs.

    carriers: correction id → the channel that a sheet says carries it
    """
    found_apart, says_running = _find(opened, carriers)
    findings = together(found_apart)
    maps, silent = map_departures(findings), silences(findings)
    unheard = dict.fromkeys(e for one in silent for e in one.episodes)
    episodes = tuple(
        sorted(
            (*_episodes(findings), *map_episodes(maps), *unheard),
            key=lambda e: (e.log, e.start_s, e.about),
        )
    )
    another_map = map_cause(maps)
    found = [
        *(_placed(cause, episodes, findings) for cause in entry_causes(findings)),
        *(_placed(cause, episodes, findings) for cause in extra_causes(findings)),
        *(_at(one.cause, episodes, one.episodes) for one in silent),
    ]
    if another_map is not None:
        found.append(_at(another_map, episodes, map_episodes(maps)))
    # What acts in no episode is no cause: it only mends the edges of another, or two cancel out.
    found = [cause for cause in found if cause.episodes]
    small = small_causes(findings, _bare(episodes, found, findings), {c.entry for c in found})
    found += [_placed(cause, episodes, findings) for cause in small]
    unknown = unknown_causes(findings, episodes, _bare(episodes, found, findings))
    tried = experiments(findings, ranked((*found, *unknown)), says_running)
    causes = ranked((*found, *unknown, *label_causes(findings)))
    causes = with_experiments(causes, tried)
    needs = _needs(findings)
    decided = verdict(findings, episodes, causes)
    return Explanation(
        ledgers=tuple(finding.ledger for finding in findings),
        running=says_running,
        episodes=episodes,
        causes=causes,
        verdict=decided,
        headline=headline(decided, findings, car_first(causes), says_running, needs),
        needs=needs,
        notes=_notes(findings, says_running, causes),
        loading=loading(findings, says_running),
        experiments=tried,
    )


def _episodes(findings: Sequence[Finding]) -> tuple[Episode, ...]:
    return tuple(
        episode(finding.ledger, run, log=number, regimes=finding.book.regimes)
        for number, finding in enumerate(findings)
        for run in departures(finding.ledger)
    )


def _find(
    opened: Sequence[OpenedBook], carriers: Mapping[str, str]
) -> tuple[list[Finding], Running | None]:
    if not opened[0].laid:
        return _as_it_stands(opened), None
    trials = [_try_all(one, carriers) for one in opened]
    best = choose(trials)
    if all(log[best].fits for log in trials):
        findings = look(opened, trials, best, [as_handed_over(log[best]) for log in trials])
    else:
        best, findings = beyond_the_sheets(opened, trials, best)
        if all(any(e.entry == STILL for e in finding.extras) for finding in findings):
            return _as_it_stands(opened), not_judged(trials, "delivered never moves")
    fits = _fits(trials, best, findings)
    if fits and (best or findings[0].stretches):
        findings = [replace(f, first=log[0]) for f, log in zip(findings, trials, strict=True)]
    if findings[0].stretches:
        stretches = [finding.stretches for finding in findings]
        files = [one.book.log.file for one in opened]
        return findings, running_in_turn(trials, stretches, best, files, fits=fits)
    says_running = _no_surer(running(trials, best, fits=fits), findings)
    if not _listed(trials[0][0], findings):
        says_running = replace(says_running, matches_supplied=False)
    return findings, says_running


def _as_it_stands(opened: Sequence[OpenedBook]) -> list[Finding]:
    """What each log says without the corrections of any sheet."""
    bare: list[Finding] = []
    for one in opened:
        account = carry_out(one.book, None, ())
        bare.append(look_further(one.book, account, one.laid, None, rules_from=next_rule(bare)))
    return bare


def _no_surer(says_running: Running, findings: Sequence[Finding]) -> Running:
    """No surer of the running revision than of what it is only suspected to have done, nor than
    so brief a log allows."""
    least = min((e.certainty for f in findings for e in f.extras if e.values is None), default=1.0)
    least = min(least, brief.MOST_SURE) if brief.too_brief(findings) else least
    return replace(says_running, certainty=min(says_running.certainty, round(least, 2)))


def _try_all(one: OpenedBook, carriers: Mapping[str, str]) -> list[Trial]:
    here = {name: channel for name, channel in carriers.items() if one.book.log.find(channel)}
    trials = side_by_side(lambda sheet: try_sheet(one.book, sheet, one.laid[0], here), one.laid)
    return list(trials)


def _fits(trials: Sequence[Sequence[Trial]], best: int, findings: Sequence[Finding]) -> bool:
    """Whether the best sheet accounts for the logs, but for what it may leave unlisted.

    A correction whose input is not logged, and one that an incomplete sheet does not list, refute
    nothing.
    """
    if all(log[best].fits for log in trials):
        return True
    if not all(log[best].judges for log in trials):
        return False
    if not all(
        map_fits(finding.stretches, log, best)
        for log, finding in zip(trials, findings, strict=True)
    ):
        return False
    if any(finding.departures for finding in findings):
        return False
    return all(f.settled for f in findings) and _listed(trials[0][best], findings)


def _listed(trial: Trial, findings: Sequence[Finding]) -> bool:
    """Whether a sheet that claims to be complete lists all that was found beyond it."""
    if not trial.sheet.calibration.spark.complete:
        return True
    return all(
        finding.settled and all(e.values is None or e.expected for e in finding.extras)
        for finding in findings
    )


def _placed(cause: Cause, episodes: Sequence[Episode], findings: Sequence[Finding]) -> Cause:
    """The cause with the episodes in which it acts, or for which it is suspected."""
    if cause.entry is not None:
        numbers = [i for i, e in enumerate(episodes) if _acts_in(e, cause, findings)]
    else:
        numbers = [i for i, e in enumerate(episodes) if _suspected_in(e, cause, findings)]
    return replace(cause, episodes=tuple(numbers))


def _bare(
    episodes: Sequence[Episode], found: Sequence[Cause], findings: Sequence[Finding]
) -> list[Episode]:
    """Episodes of which nothing speaks yet, no stretch without an account either."""
    spoken_for = {number for cause in found for number in cause.episodes}
    return [
        e
        for i, e in enumerate(episodes)
        if i not in spoken_for
        and not any(a <= e.last and b >= e.first for a, b in findings[e.log].unknown)
    ]


def _at(cause: Cause, episodes: Sequence[Episode], own: Sequence[Episode]) -> Cause:
    """The cause with the episodes that are about it."""
    return replace(cause, episodes=tuple(i for i, e in enumerate(episodes) if e in own))


def _suspected_in(episode_: Episode, cause: Cause, findings: Sequence[Finding]) -> bool:
    rows = slice(episode_.first, episode_.last + 1)
    return episode_.about == "delivery" and any(
        extra.entry is None and extra.correction == cause.correction and extra.rows[rows].any()
        for extra in findings[episode_.log].extras
    )


def _acts_in(episode_: Episode, cause: Cause, findings: Sequence[Finding]) -> bool:
    """Whether its entry has a part in an episode, be it for a moment, or beside others."""
    finding = findings[episode_.log]
    ledger, rows = finding.ledger, slice(episode_.first, episode_.last + 1)
    if episode_.about != "delivery":
        return False
    acts = any(
        (one.correction, one.file) == (cause.entry, cause.file)
        and _reaches(one.values[rows], 0.5 * ledger.tolerance)
        for one in ledger.entries
    )
    extras = (extra for extra in finding.extras if extra.entry == cause.entry)
    return acts or any(_may_act(extra, rows, finding) for extra in extras)


def _may_act(extra: Extra, rows: slice, finding: Finding) -> bool:
    """Whether what an episode shows is a threshold that the log cannot resolve, and no more."""
    if extra.leeway is None or any(_meets(run, rows) for run in finding.unknown):
        return False
    return any(_reaches(way[rows], finding.ledger.tolerance) for way in extra.leeway)


def _reaches(values: FloatArray, least: float) -> bool:
    return bool(np.nanmax(np.abs(np.nan_to_num(values)), initial=0.0) > least)


def _meets(run: Run, rows: slice) -> bool:
    return bool(run[0] < rows.stop and run[1] >= rows.start)


def _needs(findings: Iterable[Finding]) -> tuple[Need, ...]:
    """What would have to be logged, each thing once."""
    needs: dict[str, Need] = {}
    for finding in findings:
        for extra in finding.extras:
            for need in extra.needs:
                needs.setdefault(need.what.casefold(), need)
    return tuple(needs.values())


def _notes(
    findings: Sequence[Finding], says_running: Running | None, causes: Sequence[Cause]
) -> tuple[str, ...]:
    # First what puts all the rest in doubt: a short paper shows the first notes only.
    notes = dict.fromkeys((*other_car_notes(map_departures(findings)), *brief.notes(findings)))
    notes |= dict.fromkeys(
        note
        for finding in findings
        for note in (
            *finding.book.log.notes,
            *finding.book.log.cell_notes,
            *finding.book.roles.notes,
            *(_doubt(doubt) for doubt in finding.book.roles.doubts if _matters(doubt, finding)),
            *finding.book.notes,
            *(finding.trial.notes if finding.trial else ()),
        )
    )
    notes |= dict.fromkeys((*_load_notes(findings, causes), *open_notes(undecided(findings))))
    if says_running and "cannot tell it from" in says_running.says:
        notes[says_running.says] = None
    if says_running:
        files = [finding.book.log.file for finding in findings]
        notes |= dict.fromkeys(moments(says_running.spans, files))
    return tuple(notes)


def _load_notes(findings: Sequence[Finding], causes: Sequence[Cause]) -> list[str]:
    """That load was assumed, where delivered stands above scheduled and nothing tells load."""
    if not any(cause.raises_under_load for cause in causes):
        return []
    return [
        f"in {finding.book.log.file} neither throttle, manifold pressure nor engine load tells "
        "where the engine was under load: where delivered stands above scheduled, it is taken to be"
        for finding in findings
        if not finding.book.regimes.load_told.any()
    ]


def _matters(doubt: Doubt, finding: Finding) -> bool:
    """Whether a supplied sheet reads the signal that no channel is sure enough for."""
    return any(
        doubt.signal in (reading.signal, reading.minus, reading.over)
        for sheet in finding.laid
        for reading in readings(sheet.calibration.spark)
    )


def _doubt(doubt: Doubt) -> str:
    candidates = [f"{c.name} ({share(certainty)})" for c, certainty in doubt.candidates[:2]]
    which = f"; perhaps {listing(candidates, 'or')}" if candidates else ""
    return f"not sure which channel is {doubt.signal}{which}: a roles file settles it"
