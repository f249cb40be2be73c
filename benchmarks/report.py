"""Scores as tables: for the terminal and, in the same Markdown, for the docs."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from benchmarks.claims import Claim
from benchmarks.score import QUESTIONS, Score

BANDS = (0.0, 0.5, 0.7, 0.8, 0.9, 0.95, 0.98, 1.0)
HIGH = 0.9
MARKS = {True: "right", False: "**miss**", None: "·"}


def case_table(scores: Sequence[Score]) -> str:
    """One row per case, one column per question."""
    rows = [
        [score.case, score.variant, *(MARKS[score.point(name).ok] for name in QUESTIONS)]
        for score in scores
    ]
    return table(["case", "variant", *QUESTIONS], rows)


def kind_table(scores: Sequence[Score]) -> str:
    """Right out of asked, per kind and in all."""
    kinds = sorted({score.kind for score in scores})
    groups = [(kind, [s for s in scores if s.kind == kind]) for kind in kinds]
    rows = [_counts(name, group) for name, group in [*groups, ("all", list(scores))]]
    return table(["kind", "cases", *QUESTIONS], rows)


def _counts(name: str, scores: Sequence[Score]) -> list[str]:
    cells = [name, str(len(scores))]
    for question in QUESTIONS:
        asked = [score.point(question).ok for score in scores]
        asked = [ok for ok in asked if ok is not None]
        cells.append(f"{sum(map(bool, asked))}/{len(asked)}" if asked else "·")
    return cells


def miss_list(scores: Iterable[Score], most: int | None = None) -> str:
    """Every miss with its reason."""
    lines = [
        f"- {score.case} ({score.kind}, {score.variant}), {point.name}: {_short(point.reason)}"
        for score in scores
        for point in score.misses
    ]
    if most is not None and len(lines) > most:
        lines = [*lines[:most], f"- … and {len(lines) - most} more"]
    return "\n".join(lines) if lines else "No misses."


def _short(text: str, most: int = 300) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= most else flat[: most - 1] + "…"


def reliability(scores: Iterable[Score]) -> str:
    """How often causes given with a certainty are right, by bands of certainty, and the figures
    over all of them.

    The Brier score is the mean square of (certainty − 1 or 0); the expected calibration error the
    mean distance between certainty and share right over the bands, weighted by their causes.
    """
    claims = [claim for score in scores for claim in score.claims]
    rows, distance, square = [], 0.0, 0.0
    for low, high in pairwise(BANDS):
        band = [c for c in claims if low <= c.certainty < high or c.certainty == high == 1.0]
        if band:
            said = sum(claim.certainty for claim in band) / len(band)
            share = sum(_so(claim) for claim in band) / len(band)
            rows.append([f"{low:g} to {high:g}", str(len(band)), f"{said:.2f}", f"{share:.2f}"])
            distance += abs(said - share) * len(band)
            square += sum((claim.certainty - _so(claim)) ** 2 for claim in band)
    if not claims:
        return "No causes given."
    told = table(["certainty given", "causes", "mean certainty", "share right"], rows)
    sure = [c for c in claims if c.certainty >= HIGH]
    right = sum(_so(c) for c in sure)
    return (
        f"{told}\n\n"
        f"- of {len(sure)} causes given with {HIGH:g} or more, {right} are right\n"
        f"- Brier score {square / len(claims):.3f}, "
        f"expected calibration error {distance / len(claims):.3f}, over {len(claims)} causes"
    )


def _so(claim: Claim) -> bool:
    return claim.right and claim.holds


def table(header: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A Markdown table with columns lined up, so that it reads as plain text as well."""
    lines = [[_cell(cell) for cell in row] for row in (header, *rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(header))]
    ruled = [lines[0], ["-" * width for width in widths], *lines[1:]]
    return "\n".join(
        "| "
        + " | ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True))
        + " |"
        for line in ruled
    )


def _cell(text: str) -> str:
    return text.replace("|", "\\|")
