"""The answer to "what is in this log": for a person, and for a machine."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.cells import cell_len

from tests.logs.writing import Column, Dress, Run, steady_run, write
from tuneledger.logs import open_log
from tuneledger.logs.model import Log
from tuneledger.look import Look, Seen, look
from tuneledger.look.json import as_json
from tuneledger.look.text import as_text
from tuneledger.roles.model import Doubt, Role, Roles
from tuneledger.statement.json import json_text

CONTRACT_KEYS = {
    "name", "unit", "signal", "certainty", "why", "runner_up", "step", "rate_hz", "gaps", "stuck",
}  # fmt: skip


def opened(path: Path, *extra: Column, rows: int = 400) -> Log:
    run = steady_run(rows)
    return open_log(write(path, Run(run.times, (*run.columns, *extra)), Dress(units="square")))


def roles(log: Log) -> Roles:
    rev, plate, advance = log.channels[1:4]
    return Roles(
        {
            "engine speed": Role(
                "engine speed",
                rev,
                "rpm",
                certainty=0.98,
                why=("its unit", "its name"),
                runner_up=(plate, 0.04),
            )
        },
        (Doubt("delivered advance", ((advance, 0.6), (plate, 0.2)), "no second advance"),),
    )


def seen(looked: Look, name: str) -> Seen:
    return next(s for s in looked.channels if s.channel.name == name)


def test_every_channel_is_listed_with_what_the_contract_asks_for(tmp_path: Path) -> None:
    log = opened(tmp_path / "climb.csv")
    answer = json.loads(json_text(as_json(look(log, roles(log)))))

    assert answer["format"] == "tuneledger-look/1"
    assert answer["log"]["file"] == "climb.csv"
    assert answer["log"]["samples"] == 400
    assert answer["log"]["rate_hz"] == 50.0
    assert [c["name"] for c in answer["channels"]] == [c.name for c in log.channels]
    assert all(channel.keys() >= CONTRACT_KEYS for channel in answer["channels"])
    by_name = {channel["name"]: channel for channel in answer["channels"]}
    assert by_name["Rev"]["signal"] == "engine speed"
    assert by_name["Rev"]["certainty"] == 0.98
    assert by_name["Rev"]["why"] == "its unit; its name"
    assert by_name["Rev"]["runner_up"] == {
        "channel": "Throttle",
        "signal": "engine speed",
        "certainty": 0.04,
    }
    assert by_name["Rev"]["step"] == 1.0
    assert by_name["Throttle"]["step"] == pytest.approx(0.4)
    assert by_name["Time"]["signal"] == "time"
    assert by_name["Adv given"]["signal"] is None
    assert by_name["Adv given"]["runner_up"]["signal"] == "delivered advance"


def test_a_doubt_is_shown_with_its_candidates_and_the_way_out(tmp_path: Path) -> None:
    log = opened(tmp_path / "x")
    text = as_text(look(log, roles(log)), width=100)

    assert "delivered advance: 'Adv given' (60 %) or 'Throttle' (20 %); no second advance" in text
    assert "--roles" in text


def test_what_is_odd_about_a_channel_is_said(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    held = np.repeat(np.round(rng.normal(60, 9, 80), 1), 5)
    slow = np.where(np.arange(400) % 10 == 3, np.round(rng.normal(80, 5, 400), 1), np.nan)
    frozen = np.round(40 + np.cumsum(rng.normal(0, 0.5, 400)), 1)
    frozen[120:320] = 40.5
    smeared = np.repeat(np.tile([0.0, 1.0], 10), 20)
    smeared[np.flatnonzero(np.diff(smeared)) + 1] = 0.37
    log = opened(
        tmp_path / "x",
        Column("Held", "kPa", held),
        Column("Slow", "°C", slow),
        Column("Frozen", "kPa", frozen),
        Column("Smeared", "", smeared, 2),
        Column("Flat", "°C", np.full(400, 82.0)),
        Column("Nothing", "V", np.full(400, np.nan)),
    )
    looked = look(log, Roles())

    assert seen(looked, "Held").remarks == ("a sample of its own in one row of 5",)
    assert seen(looked, "Slow").facts.rate_hz == pytest.approx(5)
    assert seen(looked, "Frozen").remarks == ("stands still for 4.0 s from 2.4 s",)
    assert "the export has interpolated" in seen(looked, "Smeared").remarks[0]
    assert seen(looked, "Flat").remarks == ("never changes (82 °C)",)
    assert seen(looked, "Nothing").remarks == ("holds nothing",)
    assert [s.facts.stuck for s in looked.channels].count(True) == 2
    text = as_text(looked)
    for name in ("Held", "Slow", "Frozen", "Smeared", "Flat", "Nothing"):
        assert name in text


def test_a_pause_of_the_whole_log_is_told_once(tmp_path: Path) -> None:
    run = steady_run(400)
    times = np.where(np.arange(400) < 200, run.times, run.times + 5.0)
    looked = look(open_log(write(tmp_path / "x", replace(run, times=times), Dress())), Roles())

    assert sum("no samples from" in note for note in looked.notes) == 1
    assert all(not s.remarks for s in looked.channels)
    assert all(len(s.facts.gaps) == 1 for s in looked.channels)


def test_a_plain_log_ends_in_status_0_and_anything_odd_in_1(tmp_path: Path) -> None:
    log = opened(tmp_path / "x")
    assert look(log, Roles()).exit_status == 0
    assert look(log, roles(log)).exit_status == 1

    flat = opened(tmp_path / "y", Column("Flat", "°C", np.full(400, 82.0)))
    assert look(flat, Roles()).exit_status == 0


def test_names_out_of_a_strangers_file_cannot_steer_the_terminal(tmp_path: Path) -> None:
    log = opened(tmp_path / "x", Column("Evil\x1b[31m\u202e", "V", np.full(400, 1.0)))

    shown = as_text(look(log, Roles()))

    assert "\x1b" not in shown
    assert "\u202e" not in shown


@pytest.mark.parametrize("width", [40, 64, 80, 110])
def test_the_text_keeps_to_the_width(tmp_path: Path, width: int) -> None:
    log = opened(tmp_path / "x", Column("A name that goes on and on, 漢字 too", "V", np.ones(400)))

    lines = as_text(look(log, roles(log)), width=width).splitlines()

    assert max(map(cell_len, lines)) <= width
