"""Probe, then pressure, then one rounding; nothing twice; a sea-level pressure is caught."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.methods import (
    AlreadyCorrected,
    check_station_pressure,
    correct,
    correction_c,
    pressure_warnings,
)
from closedcup.quantities import parse_limit, parse_pressure, standard_pressure_kpa

pressures = st.floats(60, 108)
readings = st.floats(-30, 300)
corrections = st.one_of(st.none(), st.floats(-3, 3))


@given(st.lists(pressures, min_size=1, max_size=8))
def test_arrays_and_scalars_agree(kpa):
    assert correction_c(np.array(kpa)).tolist() == [correction_c(one) for one in kpa]


@given(st.decimals(500, 800, places=1))
def test_millimetres_of_mercury_and_kilopascal_are_one_pressure(mmhg):
    pressure = parse_pressure(f"{mmhg} mmHg")
    same = parse_pressure(f"{pressure.kpa:.9f} kPa")
    assert correction_c(pressure.kpa) == pytest.approx(correction_c(same.kpa), abs=1e-8)


@given(readings, pressures, corrections)
def test_the_chain_adds_probe_then_pressure_and_rounds_once(reading_c, kpa, probe_c):
    found = correct(reading_c, pressure_kpa=kpa, rounding_step_c=0.5, probe_correction_c=probe_c)
    assert found.corrected_c == pytest.approx(
        reading_c + (probe_c or 0) + correction_c(kpa), abs=1e-8
    )
    assert abs(found.reported_c - found.corrected_c) <= 0.25 + 1e-8
    assert (found.reported_c * 2) == round(found.reported_c * 2)
    assert [step.value_c for step in found.steps][-2:] == [found.corrected_c, found.reported_c]


@given(readings, pressures, pressures)
def test_a_reading_corrected_before_is_not_corrected_twice(cup_c, used_kpa, station_kpa):
    shown_c = cup_c + correction_c(used_kpa)
    again = correct(
        shown_c,
        pressure_kpa=station_kpa,
        rounding_step_c=0.5,
        probe_correction_c=0.0,
        already_corrected=AlreadyCorrected("the apparatus", used_kpa),
    )
    once = correct(cup_c, pressure_kpa=station_kpa, rounding_step_c=0.5, probe_correction_c=0.0)
    assert again.corrected_c == pytest.approx(once.corrected_c, abs=1e-8)
    assert any("instead" in text for text in again.warnings) == (abs(used_kpa - station_kpa) > 0.5)


def test_a_correction_with_an_unknown_pressure_stands_and_says_so():
    found = correct(
        61.0,
        pressure_kpa=85.0,
        rounding_step_c=0.5,
        probe_correction_c=0.2,
        already_corrected=AlreadyCorrected("the apparatus", None),
    )
    assert (found.correction_c, found.corrected_c, found.pressure_kpa) == (0.0, 61.2, None)
    assert any("not on record" in text for text in found.warnings)


@pytest.mark.parametrize(
    ("reading_c", "limit", "decides"),
    [(60.2, "<=60 degC", True), (60.2, "<=61 degC", False), (59.8, "<60 degC", True),
     (59.7, "<60 degC", False)],
)  # fmt: skip
def test_it_says_when_rounding_decides(reading_c, limit, decides):
    found = correct(reading_c, pressure_kpa=101.3, rounding_step_c=0.5, limit=parse_limit(limit))
    assert found.rounding_decides == decides
    assert any("Rounding decides" in text for text in found.warnings) == decides


def test_no_probe_correction_on_record_is_not_the_same_as_zero():
    none = correct(60.0, pressure_kpa=101.3, rounding_step_c=0.5)
    zero = correct(60.0, pressure_kpa=101.3, rounding_step_c=0.5, probe_correction_c=0.0)
    assert none.corrected_c == zero.corrected_c
    assert (none.probe_correction_c, zero.probe_correction_c) == (None, 0.0)
    assert none.warnings
    assert not zero.warnings


@pytest.mark.parametrize(
    ("kpa", "says"),
    [(81.9, "STRONG"), (82.0, "below 98.0"), (97.9, "below 98.0"), (98.0, ""), (104.7, ""),
     (104.8, "above 104.7")],
)  # fmt: skip
def test_pressure_warnings_at_their_edges(kpa, says):
    warnings = pressure_warnings(kpa)
    assert says in warnings[0] if says else not warnings


@given(st.floats(500, 3000))
def test_above_500_m_a_sea_level_pressure_is_caught(altitude_m):
    with pytest.raises(InputError, match="sea level"):
        check_station_pressure(101.3, altitude_m)


@given(st.floats(0, 3000), st.floats(0.93, 1.04))
def test_ordinary_weather_is_never_refused(altitude_m, weather):
    check_station_pressure(standard_pressure_kpa(altitude_m) * weather, altitude_m)


def test_sea_level_said_or_suspected():
    with pytest.raises(InputError, match=r"84\.6 kPa is usual"):
        check_station_pressure(101.3, 1500, "sea level")
    assert "nearer to sea level" in check_station_pressure(100.9, 300)[0]
    assert "no altitude" in check_station_pressure(100.9, None)[0]
    with pytest.raises(InputError, match="too low"):
        check_station_pressure(84.0, 100)
