"""A unit that somebody tells is named, is kept only where it comes out right, and can be dropped.

A log that is sound must not be read in another's wrong unit without a word.
"""

from pathlib import Path

import pytest

from tests.cli.test_end_to_end import SHEET, written_down
from tuneledger.cli.main import run

RIGHT, WRONG = "deg", "0.1 deg"


def spoken(capsys: pytest.CaptureFixture[str], *call: str) -> str:
    run([*call])
    told = capsys.readouterr()
    return " ".join((told.out + told.err).split())


@pytest.fixture(autouse=True)
def _climb(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("TUNELEDGER_HOME", str(tmp_path / "home"))
    Path("climb.csv").write_text(written_down())
    Path("rev-d.toml").write_text(SHEET)
    for name, unit in (("right", RIGHT), ("wrong", WRONG)):
        head = 'format = "tuneledger-roles/1"\n[units]\n'
        Path(f"{name}.toml").write_text(f'{head}"Spark delivered" = "{unit}"\n')


def test_a_unit_that_makes_no_account_come_out_is_not_remembered(
    capsys: pytest.CaptureFixture[str],
) -> None:
    before = spoken(capsys, "reconcile", "climb.csv", "rev-d.toml")
    wrong = spoken(capsys, "reconcile", "climb.csv", "rev-d.toml", "--roles", "wrong.toml")
    assert 'not remembered, since this account does not bear it out: "Spark delivered"' in wrong
    assert spoken(capsys, "reconcile", "climb.csv", "rev-d.toml") == before


def test_a_remembered_unit_is_named_and_can_be_forgotten(
    capsys: pytest.CaptureFixture[str],
) -> None:
    told = spoken(capsys, "reconcile", "climb.csv", "rev-d.toml", "--roles", "right.toml")
    assert 'remembered for logs with the same header: "Spark delivered" in deg' in told
    says = 'same header: "Spark delivered" is read in deg'
    assert says in spoken(capsys, "reconcile", "climb.csv", "rev-d.toml")
    seen = spoken(capsys, "look", "climb.csv")
    assert says in seen
    assert "--forget" in seen
    assert says not in spoken(capsys, "look", "climb.csv", "--no-memory")
    assert says not in spoken(capsys, "look", "climb.csv", "--forget")
    assert says not in spoken(capsys, "reconcile", "climb.csv", "rev-d.toml")
