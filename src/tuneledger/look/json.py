"""The look for machines: CONTRACT section 4, and what else there is to know."""

import math
from typing import Any

from tuneledger.look.model import FORMAT, Look, Seen


def as_json(looked: Look) -> dict[str, Any]:
    """The look as plain values. What nobody knows is null, never NaN."""
    log = looked.log
    return {
        "format": FORMAT,
        "log": {
            "file": log.file,
            "duration_s": _round(log.duration_s, 4),
            "samples": log.samples,
            "rate_hz": _round(log.rate_hz, 4),
            "layout": dict(log.layout),
            "notes": [*looked.notes, *looked.advance],
        },
        "channels": [_channel(seen) for seen in looked.channels],
        "not_sure": [
            {
                "signal": doubt.signal,
                "candidates": [
                    {"channel": channel.name, "certainty": _round(certainty, 3)}
                    for channel, certainty in doubt.candidates
                ],
                "why": doubt.why,
            }
            for doubt in looked.roles.doubts
        ],
    }


def _channel(seen: Seen) -> dict[str, Any]:
    facts, other = seen.facts, seen.runner_up
    return {
        "name": seen.channel.name,
        "unit": seen.channel.unit,
        "signal": seen.signal,
        "certainty": _round(seen.certainty, 3),
        "why": "; ".join(part for part in seen.why if part),
        "runner_up": None
        if other is None
        else {
            "channel": other.channel,
            "signal": other.signal,
            "certainty": _round(other.certainty, 3),
        },
        "step": facts.step,
        "rate_hz": _round(facts.rate_hz, 4),
        "gaps": [[_round(start, 3), _round(end, 3)] for start, end in facts.gaps],
        "stuck": facts.stuck,
        "samples": facts.samples,
        "lowest": facts.lowest,
        "highest": facts.highest,
        "own_sample_every": facts.every,
        "remarks": list(seen.remarks),
    }


def _round(value: float | None, places: int) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return round(value, places)
