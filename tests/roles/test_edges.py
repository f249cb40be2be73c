"""Whatever a log holds, identification ends with roles and doubts, never with a crash."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from tests.roles.dressing import make_log, sheet_of
from tests.roles.drives import drive
from tuneledger.arrays import FloatArray
from tuneledger.roles import Roles, identify, roles_text
from tuneledger.roles.files import parse_roles
from tuneledger.signals import SIGNALS

LABELS = ("", "deg", "rpm", "kPa", "psi", "°C", "%", "V", "furlong", "1", "on/off", "AFR")
NAMES = st.text(min_size=1, max_size=12).filter(str.strip)


def sound(roles: Roles) -> None:
    """What holds of every answer."""
    for signal, role in roles.by_signal.items():
        assert signal in SIGNALS
        assert 0.8 <= role.certainty <= 1.0
        assert role.why
        assert np.isfinite((role.scale, role.offset)).all()
    channels = [r.channel.column for s, r in roles.by_signal.items() if s != "time"]
    assert len(channels) == len(set(channels))
    for doubt in roles.doubts:
        assert doubt.signal not in roles.by_signal
        assert all(0.0 < odds < 0.8 for _, odds in doubt.candidates)
        assert doubt.why


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(
        st.tuples(
            NAMES,
            st.sampled_from(LABELS),
            arrays(np.float64, 60, elements=st.one_of(st.just(np.nan), st.floats(-1e5, 1e5))),
        ),
        max_size=8,
        unique_by=lambda c: c[0].strip().casefold(),
    )
)
def test_any_numbers_under_any_names_are_answered(
    columns: list[tuple[str, str, FloatArray]],
) -> None:
    log = make_log({n: (v, u) for n, u, v in columns if n.casefold() != "time"}, np.arange(60.0))
    roles = identify(log)
    sound(roles)
    assert parse_roles(roles_text([roles])).roles.keys() == roles.by_signal.keys() - {"time"}


@pytest.mark.parametrize("rows", [0, 1, 2, 5])
def test_a_log_of_few_rows_is_answered(rows: int) -> None:
    d = drive(5, 30)
    columns = {s: (v[:rows], u) for s, (v, u) in d.quantities.items() if s in SIGNALS}
    sound(identify(make_log(columns, d.times[:rows]), sheets=[sheet_of(d)]))


def test_a_log_of_time_alone_has_one_role() -> None:
    roles = identify(make_log({}, np.arange(10.0)))
    assert set(roles.by_signal) == {"time"}
    assert roles.doubts == ()


def test_channels_without_a_single_number_play_no_part() -> None:
    nothing = np.full(200, np.nan)
    log = make_log(
        {"Engine speed": (nothing, "rpm"), "Ignition": (nothing, "deg")}, np.arange(200.0)
    )
    assert set(identify(log).by_signal) == {"time"}


def test_an_engine_that_never_runs_is_no_reason_to_fail() -> None:
    still = np.zeros(300)
    names = {"Engine speed": "rpm", "Ignition base": "deg", "Ignition final": "deg", "MAP": "kPa"}
    sound(identify(make_log({n: (still, u) for n, u in names.items()}, np.arange(300.0))))


def test_the_same_log_gives_the_same_answer_twice() -> None:
    d = drive(6, 30)
    log = make_log({s: q for s, q in d.quantities.items() if s in SIGNALS}, d.times)
    assert identify(log) == identify(log)


def test_the_order_of_columns_does_not_matter() -> None:
    d = drive(8, 30)
    columns = {f"{s}": q for s, q in d.quantities.items() if s in SIGNALS}
    turned = dict(reversed(columns.items()))
    one, other = (identify(make_log(c, d.times)) for c in (columns, turned))
    assert {s: r.channel.name for s, r in one.by_signal.items()} == {
        s: r.channel.name for s, r in other.by_signal.items()
    }


def test_every_role_has_reasons_and_doubts_have_candidates_and_why() -> None:
    d = drive(9, 30)
    columns = {f"ch{i}": q for i, q in enumerate(d.quantities.values())}
    sound(identify(make_log(columns, d.times)))
