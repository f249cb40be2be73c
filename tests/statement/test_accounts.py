"""Episodes of one regime summed up to one line."""

import math
from dataclasses import replace

import pytest

from tests.statements import crowded, explained_by_charge_air, idle_only
from tuneledger.statement.accounts import accounts
from tuneledger.statement.words import evidence


def test_ups_and_downs_cancel_in_the_mean_but_not_in_the_weight() -> None:
    base = idle_only()
    up = replace(base.episodes[0], difference_deg=4.0, start_s=0.0, end_s=0.95)
    down = replace(up, difference_deg=-4.0, start_s=2.0, end_s=2.95)
    (account,) = accounts(replace(base, episodes=(up, down)))
    assert account.episodes == 2
    assert account.seconds == pytest.approx(2.0)
    assert account.difference_deg == pytest.approx(0.0)
    assert account.degree_seconds == pytest.approx(8.0)


def test_stretches_that_overlap_last_no_longer_than_the_log() -> None:
    base = idle_only()
    long = replace(base.episodes[0], start_s=0.0, end_s=9.95, difference_deg=-3.0, parts=())
    silent = replace(long, start_s=4.0, end_s=7.95)
    (account,) = accounts(replace(base, episodes=(long, silent, silent)))
    assert (account.episodes, account.seconds) == (3, pytest.approx(10.0))
    assert account.degree_seconds == pytest.approx(30.0)


def test_a_mean_is_weighted_by_time_and_leaves_out_what_is_not_known() -> None:
    base = idle_only()
    long = replace(base.episodes[0], start_s=0.0, end_s=2.95, unaccounted_deg=1.0)
    short = replace(long, end_s=0.95, unaccounted_deg=5.0)
    blank = replace(long, unaccounted_deg=math.nan)
    (account,) = accounts(replace(base, episodes=(long, short, blank)))
    assert account.unaccounted_deg == pytest.approx(2.0)
    (account,) = accounts(replace(base, episodes=(blank,)))
    assert math.isnan(account.unaccounted_deg)


def test_what_nobody_expected_stands_first_then_the_most_degree_seconds() -> None:
    found = accounts(explained_by_charge_air())
    assert [a.expected for a in found] == sorted(a.expected for a in found)
    weights = [a.degree_seconds for a in found if not a.expected]
    assert weights == sorted(weights, reverse=True)


def test_load_stands_first_where_the_headline_stops_for_it() -> None:
    base = explained_by_charge_air()
    brief = replace(base.episodes[0], regime="load", end_s=base.episodes[0].start_s, parts=())
    long = replace(base.episodes[0], regime="idle", parts=())
    raising = replace(base.causes[0], raises_under_load=True)
    calm, stop = (
        replace(base, episodes=(long, brief), causes=causes)
        for causes in (base.causes, (raising, *base.causes[1:]))
    )
    assert [account.regime for account in accounts(calm)] == ["idle", "load"]
    assert [account.regime for account in accounts(stop)] == ["load", "idle"]


def test_two_hundred_episodes_of_a_kind_are_one_line() -> None:
    assert [a.episodes for a in accounts(crowded())] == [200]


def test_evidence_is_that_of_the_entries_and_none_where_nothing_was_posted() -> None:
    statement = explained_by_charge_air()
    charge_air, idle = statement.causes
    assert evidence(charge_air, statement) == "computed"
    assert evidence(idle, statement) == "inferred"
    unknown = replace(charge_air, kind="unknown", correction=None, entry=None)
    assert evidence(unknown, statement) == "none yet"
