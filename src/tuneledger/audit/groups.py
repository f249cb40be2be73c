"""Findings as people read them: what several sheets share is told once, with a number."""

from tuneledger.audit.model import SEVERITIES, Audit, Finding, Severity
from tuneledger.audit.registry import CHECKS
from tuneledger.record import record
from tuneledger.wording import count, listing


@record
class Group:
    """The same finding in one or several sheets. number: 1 and on, over all that are open."""

    number: int
    findings: tuple[Finding, ...]

    @property
    def first(self) -> Finding:
        return self.findings[0]

    @property
    def severity(self) -> Severity:
        return self.first.severity

    @property
    def files(self) -> list[str]:
        return list(dict.fromkeys(f.file for f in self.findings))


def groups(audit: Audit) -> list[Group]:
    """Findings that are not accepted, the gravest first; what is about the newest sheet before
    what is only about older ones."""
    told: dict[tuple[str, str], list[Finding]] = {}
    for finding in audit.findings:
        if finding.accepted is None:
            told.setdefault((finding.check, finding.says), []).append(finding)
    newest = audit.sheets[-1].file
    ordered = sorted(
        told.values(),
        key=lambda g: (
            SEVERITIES.index(g[0].severity),
            all(f.file != newest for f in g),
            CHECKS.index(g[0].check) if g[0].severity != "note" else 0,
            -g[0].size,
        ),
    )
    return [Group(n, tuple(found)) for n, found in enumerate(ordered, 1)]


def headline(audit: Audit) -> str:
    """The one sentence to read: what is gravest, or that nothing has to be asked."""
    found = [g for g in groups(audit) if g.severity != "note"]
    if audit.exit_status == 3:
        return "Cannot tell: no cell of the map is known."
    if not found:
        accepted = sum(f.accepted is not None for f in audit.findings)
        beside = f" ({count(accepted, 'finding')} accepted)" if accepted else ""
        return (
            f"Nothing to ask about this calibration{beside}. It was not driven: it may still be "
            "wrong."
        )
    if found[0].severity in ("danger", "fault"):
        stop = "Stop: " if found[0].severity == "danger" else ""
        rest = len(found) - 1
        more = f" {count(rest, 'more finding')}." if rest else ""
        return f"{stop}{found[0].first.says}{more}"
    checks = list(dict.fromkeys(WORDS.get(g.first.check, g.first.check) for g in found))
    return f"No danger or fault found; {count(len(found), 'doubt')}: {listing(checks)}."


WORDS = {
    "raised": "more advance than before",
    "one-name": "two sheets with one name",
    "idle-authority": "an idle governor without authority",
    "idle-range": "an idle governor that reaches far",
    "idle-open": "an idle governor with the throttle open",
    "limit-works": "sums that only the limit holds",
    "flicker": "thresholds that may flicker",
    "same-cause": "one cause answered twice",
    "unnamed": "channels that nobody can name",
    "map-outlier": "a cell out of line",
    "map-cliff": "a cliff in the map",
    "axis-short": "a map that ends early",
    "unsaid": "changes without a note",
}
