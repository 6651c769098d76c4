"""How fast a cup travels, from traces whose code states their truth."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import Refused
from closedcup.metrology.traces import Trace
from closedcup.metrology.traces.travel import travel_rates


def up_and_down(heats: float, cools: float, noise_c: float = 0.0) -> Trace:
    """Stand at 25 °C, heat to 85 °C, stand, cool to 45 °C; straight lines, one reading a second."""
    up_s, down_s = 60 / heats * 60, 40 / cools * 60
    at = [0, 120, 120 + up_s, 240 + up_s, 240 + up_s + down_s]
    time_s = np.arange(0.0, at[-1], 1.0)
    cup_c = np.interp(time_s, at, [25, 25, 85, 85, 45])
    return Trace(time_s, cup_c + noise_c * np.random.default_rng(1).standard_normal(time_s.size))


@given(st.floats(2, 20), st.floats(0.5, 5))
def test_the_rates_are_those_of_the_lines(heats, cools):
    found = travel_rates(up_and_down(heats, cools, noise_c=0.05))
    assert found.heats_c_per_min == pytest.approx(heats, rel=0.03)
    assert found.cools_c_per_min == pytest.approx(cools, rel=0.03)


def test_a_cup_that_stands_still_tells_no_rate():
    with pytest.raises(Refused, match="less than 10"):
        travel_rates(Trace(np.arange(100.0), np.full(100, 25.0)))
