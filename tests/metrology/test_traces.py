"""Rate, plateaus and flash of traces whose model is known."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from synthetic_traces import Model, make, shown_c

from closedcup.errors import InputError, Refused
from closedcup.metrology.traces import (
    Lag,
    check_trace,
    find_flash,
    heating_rate,
    locate_change,
    plateaus,
)

SEEDS = 60
MODELS = {
    "step of 10 s": Model(),
    "step of 2 s": Model(height=0.04),
    "pulse": Model(height=1.0, decay_s=3.0),
    "slow rise": Model(height=1.0, rise_s=5.0),
    "lagging probe": Model(lag_s=8.0),
    "read to half a degree": Model(resolution_c=0.5, cup_noise_c=0.1),
    "probe heated by the flash": Model(flash_heats_c=3.0),
}


@pytest.mark.parametrize("model", MODELS.values(), ids=MODELS.keys())
def test_the_interval_holds_the_flash(model):
    true_c = float(shown_c(model, model.flash_s))
    held = 0
    for seed in range(SEEDS):
        flash = find_flash(check_trace(*make(model, seed)), from_s=model.dwell_s)
        held += flash is not None and flash.low_cup_c <= true_c <= flash.high_cup_c
    assert held >= 0.9 * SEEDS


def test_the_temperature_shows_the_flash_where_there_is_no_detector():
    model = Model(flash_heats_c=1.0)
    time_s, cup_c, _ = make(model, 3)
    flash = find_flash(check_trace(time_s, cup_c), from_s=model.dwell_s)
    assert flash is not None
    assert flash.found_in == "temperature"
    assert flash.low_cup_c <= float(shown_c(model, model.flash_s)) <= flash.high_cup_c


def test_a_stated_delay_of_the_detector_shifts_the_flash_with_its_uncertainty():
    late = Model(flash_s=360.25 + 4.0)  # the detector answers 4 s after the flash
    true_c = float(shown_c(Model(), 360.25))
    held = 0
    for seed in range(SEEDS):
        trace = check_trace(*make(late, seed))
        flash = find_flash(trace, from_s=late.dwell_s, lag=Lag(4.0, 1.0))
        at_once = find_flash(trace, from_s=late.dwell_s)
        assert flash is not None
        assert at_once is not None
        assert flash.lag_shift_c == pytest.approx(4 / 60 * 5.5, abs=0.05)
        assert at_once.cup_c - flash.cup_c == pytest.approx(4 / 60 * 5.5, abs=0.05)
        assert flash.high_cup_c - flash.low_cup_c > at_once.high_cup_c - at_once.low_cup_c + 0.1
        held += flash.low_cup_c <= true_c <= flash.high_cup_c
    assert held >= 0.95 * SEEDS


def test_no_flash_is_found_where_there_is_none():
    found = [find_flash(check_trace(*make(Model(flashes=False), seed))) for seed in range(SEEDS)]
    assert sum(flash is not None for flash in found) <= 2  # 1 % is allowed by chance
    time_s = np.arange(100.0)
    assert locate_change(time_s, np.ones(100)) is None


def test_the_first_of_several_flashes_counts():
    time_s, _, signal = make(Model(decay_s=3.0, height=1.0), 5)
    again = signal + np.where(time_s >= 400, 1.4 * np.exp(-np.maximum(time_s - 400, 0) / 3), 0)
    change = locate_change(time_s, again)
    assert change is not None
    assert time_s[change.low_index - 1] <= 360.25 <= time_s[change.high_index]


@given(
    rate=st.floats(0.5, 6.0),
    seed=st.integers(0, 10_000),
    lag_s=st.sampled_from([0.0, 2.0, 8.0]),
    interval_s=st.sampled_from([0.5, 1.0, 2.0]),
)
@settings(max_examples=40, deadline=None)
def test_the_rate_is_recovered(rate, seed, lag_s, interval_s):
    model = Model(rate_c_per_min=rate, lag_s=lag_s, interval_s=interval_s, flash_s=600.0)
    trace = check_trace(*make(model, seed))
    found = heating_rate(trace, from_s=model.dwell_s + 8 * lag_s, to_s=600.0)
    assert abs(found.rate_c_per_min - rate) <= 6 * found.uncertainty_c_per_min + 1e-3 * rate
    assert found.covers_c <= 20.5
    for quarter in (found.slowest_c_per_min, found.fastest_c_per_min):  # a quarter's u is 8 times
        assert abs(quarter - rate) <= 6 * 8 * found.uncertainty_c_per_min + 1e-2 * rate


@given(factor=st.floats(1e-3, 1e3), shift=st.floats(-1e3, 1e3), sign=st.sampled_from([-1, 1]))
@settings(max_examples=30, deadline=None)
def test_the_change_does_not_depend_on_the_signals_unit(factor, shift, sign):
    time_s, _, signal = make(Model(), 11)
    one, other = (locate_change(time_s, each) for each in (signal, sign * factor * signal + shift))
    assert one is not None
    assert other is not None
    assert (other.low_index, other.index, other.high_index) == (
        one.low_index,
        one.index,
        one.high_index,
    )


def test_the_dwell_is_found_and_a_ramp_is_none():
    trace = check_trace(*make(replace(Model(), dwell_s=180.0, flash_s=480.0), 2))
    (stand,) = plateaus(trace)
    assert stand.length_s == pytest.approx(180, abs=15)
    assert stand.cup_c == pytest.approx(45, abs=0.1)


def test_a_ramp_that_is_too_short_has_no_rate():
    trace = check_trace(*make(Model(), 2))
    with pytest.raises(Refused, match="lie on the ramp"):
        heating_rate(trace, from_s=60, to_s=70)


@pytest.mark.parametrize(
    ("column", "value", "kind"),
    [
        (0, 3.0, "clock-back"),
        (1, np.nan, "not-a-number"),
        (1, 900.0, "impossible-temperature"),
        (1, 140.0, "temperature-jump"),
    ],
)
def test_a_broken_trace_names_its_row(column, value, kind):
    columns = [each.copy() for each in make(Model(), 1)]
    columns[column][40] = value
    with pytest.raises(InputError) as caught:
        check_trace(*columns)
    assert caught.value.kind == kind
    assert "41" in caught.value.where
