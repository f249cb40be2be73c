"""Scores as tables: for the terminal and, in the same Markdown, for the docs."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from benchmarks.score import QUESTIONS, Score

BANDS = (0.0, 0.5, 0.7, 0.8, 0.9, 0.95, 0.98, 1.0)
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
    """How often causes given with a certainty are right, by bands of certainty."""
    claims = [claim for score in scores for claim in score.claims]
    rows = []
    for low, high in pairwise(BANDS):
        band = [c for c in claims if low <= c.certainty < high or c.certainty == high == 1.0]
        if band:
            said = sum(claim.certainty for claim in band) / len(band)
            right = sum(claim.right for claim in band)
            share = f"{right / len(band):.2f}"
            rows.append([f"{low:g} to {high:g}", str(len(band)), f"{said:.2f}", share])
    return table(["certainty given", "causes", "mean certainty", "share right"], rows)


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
