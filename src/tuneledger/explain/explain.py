"""From opened books to an explanation: which sheet, which causes, what verdict."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from tuneledger.explain import brief
from tuneledger.explain.account import carry_out
from tuneledger.explain.anothercar import another_car, no_confidence
from tuneledger.explain.causes import entry_causes, ranked, small_causes
from tuneledger.explain.cylinders import with_cylinders
from tuneledger.explain.eachlog import as_handed_over, look, next_rule
from tuneledger.explain.experiments.model import Experiment
from tuneledger.explain.experiments.next_steps import to_try, with_experiments
from tuneledger.explain.extracauses import extra_causes
from tuneledger.explain.finding import Finding
from tuneledger.explain.headline import headline
from tuneledger.explain.inturn import running_in_turn
from tuneledger.explain.loading import Loading, loading
from tuneledger.explain.looking import look_further
from tuneledger.explain.mapcause import map_cause, map_departures, map_episodes
from tuneledger.explain.mislabelled import car_first, mislabelled
from tuneledger.explain.model import STILL, SURE, Cause, Need, Running
from tuneledger.explain.numbered import (
    new_names,
    renamed_cause,
    renamed_episode,
    renamed_experiment,
    renamed_ledger,
)
from tuneledger.explain.opened import OpenedBook
from tuneledger.explain.placing import bare, in_episodes, placed
from tuneledger.explain.ratelimited import arrived
from tuneledger.explain.remarks import needs_of, notes_of
from tuneledger.explain.running import choose, not_judged, running
from tuneledger.explain.sheets import LaidSheet
from tuneledger.explain.silent import silences
from tuneledger.explain.spans import map_fits
from tuneledger.explain.ties import ties
from tuneledger.explain.together import together
from tuneledger.explain.trial import Trial, try_sheet
from tuneledger.explain.unknown import unknown_causes
from tuneledger.explain.verdict import Verdict, verdict
from tuneledger.explain.wentround import if_it_went_round
from tuneledger.ledger.episodes import departures, episode
from tuneledger.ledger.model import Episode, Ledger
from tuneledger.record import record
from tuneledger.sidebyside import side_by_side

_ASSUMED = 0.9


@record(eq=False)
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
    findings = arrived(together(found_apart))
    maps, silent = map_departures(findings), silences(findings)
    unheard = dict.fromkeys(e for one in silent for e in one.episodes)
    episodes = tuple(
        sorted(
            (*_episodes(findings), *map_episodes(maps), *unheard),
            key=lambda e: (e.log, e.start_s, e.about),
        )
    )
    tied = ties(findings, says_running)
    another_map = map_cause(maps, tied)
    found = [
        *(placed(cause, episodes, findings) for cause in entry_causes(findings, tied)),
        *(placed(cause, episodes, findings) for cause in extra_causes(findings)),
        *(in_episodes(one.cause, episodes, one.episodes) for one in silent),
    ]
    if another_map is not None:
        found.append(in_episodes(another_map, episodes, map_episodes(maps)))
    # What acts in no episode is no cause: it only mends the edges of another, or two cancel out.
    found = [cause for cause in found if cause.episodes]
    named = {cause.entry for cause in found}
    small = small_causes(findings, bare(episodes, found, findings), named, tied)
    found += [placed(cause, episodes, findings) for cause in small]
    unknown = unknown_causes(findings, episodes, bare(episodes, found, findings))
    tried = to_try(findings, ranked((*found, *unknown)), says_running)
    causes = ranked((*found, *unknown, *_label_causes(findings)))
    causes = if_it_went_round(with_experiments(causes, tried), findings)
    causes = no_confidence(causes, maps, findings)
    needs = needs_of(findings)
    decided = verdict(findings, episodes, causes)
    decided, causes, says_running = with_cylinders(decided, causes, says_running, findings)
    ledgers = [finding.ledger for finding in findings]
    names = new_names(causes, ledgers)
    return Explanation(
        ledgers=tuple(renamed_ledger(one, names) for one in ledgers),
        running=says_running,
        episodes=tuple(renamed_episode(one, names) for one in episodes),
        causes=tuple(renamed_cause(one, names) for one in causes),
        verdict=decided,
        headline=headline(
            decided, findings, car_first(causes), says_running, needs, another_car(maps, findings)
        ),
        needs=needs,
        notes=notes_of(findings, maps, says_running, causes),
        loading=loading(findings, says_running),
        experiments=tuple(renamed_experiment(one, names) for one in tried),
    )


def _label_causes(findings: Sequence[Finding]) -> list[Cause]:
    apart = mislabelled(findings)
    if not apart:
        return []
    from tuneledger.explain.labelwords import label_causes

    return label_causes(apart)


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
        # Imported where no sheet comes out as it was handed over.
        from tuneledger.explain.beyond import beyond_the_sheets

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
    says_running = _no_surer(running(trials, best, fits=fits, open_=_open(findings)), findings)
    if not _listed(trials[0][0], findings):
        says_running = replace(says_running, matches_supplied=False)
    elif fits and not best and all(map(_only_came_out, findings)):
        says_running = replace(says_running, matches_supplied=True)
    return findings, says_running


def _only_came_out(finding: Finding) -> bool:
    """Whether a log asked for nothing beyond the sheet but what its own corrections surely did
    while something that they read fell silent."""
    return finding.settled and all(e.values is None and e.certainty >= SURE for e in finding.extras)


def _open(findings: Sequence[Finding]) -> frozenset[str]:
    """The corrections of the sheet that are only suspected, since the logs cannot show them."""
    return frozenset(
        extra.correction
        for finding in findings
        for extra in finding.extras
        if extra.values is None and extra.correction is not None and extra.certainty < SURE
    )


def _as_it_stands(opened: Sequence[OpenedBook]) -> list[Finding]:
    """What each log says without the corrections of any sheet."""
    bare: list[Finding] = []
    for one in opened:
        account = carry_out(one.book, None, ())
        bare.append(look_further(one.book, account, one.laid, None, rules_from=next_rule(bare)))
    return bare


def _no_surer(says_running: Running, findings: Sequence[Finding]) -> Running:
    """No surer of the running revision than of what it is only suspected to have done, nor than
    so brief a log allows, nor than of a reading that was chosen to make it come out."""
    open_ = [e for finding in findings for e in finding.extras if e.values is None]
    # Of several that may have done the same, whichever it was: the sheet has it.
    least = min((e.certainty * (1 + len(e.rivals)) for e in open_), default=1.0)
    least = (
        min(least, brief.MOST_SURE)
        if brief.too_brief([finding.book for finding in findings])
        else least
    )
    if any(one.decides for finding in findings for one in finding.book.roles.wanting):
        least = min(least, _ASSUMED)
    return replace(says_running, certainty=min(says_running.certainty, round(least, 2)))


def _try_all(one: OpenedBook, carriers: Mapping[str, str]) -> list[Trial]:
    here = {name: channel for name, channel in carriers.items() if one.book.log.find(channel)}

    def trial(sheet: LaidSheet) -> Trial:
        return try_sheet(one.book, sheet, one.laid[0], here)

    return [*side_by_side(trial, one.laid)]


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
