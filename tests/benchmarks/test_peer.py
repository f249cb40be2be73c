"""The peer is a fair one: it finds what a competent analyst finds."""

from pathlib import Path

import numpy as np

from benchmarks.accuracy import measure
from benchmarks.peer import peer
from tests.benchmarks.made import WET, hidden_case, quiet_case, wet_case


def test_the_peer_explains_what_a_sheet_says_plainly(tmp_path: Path) -> None:
    case = wet_case(tmp_path)
    assert measure(peer, case).misses == ()
    ledger = peer(case).ledger
    assert ledger is not None
    assert np.array_equal(ledger["entry:wet-road"], np.where(WET, -4.0, 0.0))


def test_the_peer_reads_a_plain_rule_out_of_the_log(tmp_path: Path) -> None:
    scored = measure(peer, hidden_case(tmp_path))
    assert scored.misses == ()
    assert scored.point("rule").ok


def test_the_peer_is_quiet_where_nothing_is_wrong(tmp_path: Path) -> None:
    case = quiet_case(tmp_path)
    (tmp_path / "rev-d.toml").write_text(
        'revision = "D"\n[spark.map]\namount = 20.0\n', encoding="utf-8"
    )
    assert measure(peer, case).misses == ()
