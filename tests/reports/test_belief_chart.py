"""The picture of a belief: the chances are all there, and words say what it shows."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.errors import InputError
from closedcup.reports import svg
from closedcup.reports.belief_chart import Specimen, belief_chart


def bell(mean_c, sd_c):
    at = np.arange(-20.05, 200, 0.1)
    chance = np.exp(-(((at - mean_c) / sd_c) ** 2) / 2)
    return at.tolist(), (chance / chance.sum()).tolist()


@given(st.floats(0, 150), st.floats(0.3, 40))
def test_the_bars_hold_nearly_all_of_the_chance(mean_c, sd_c):
    spec = belief_chart(*bell(mean_c, sd_c), next_cup_c=mean_c)
    bars = spec["layer"][0]["data"]["values"]
    assert sum(bar["chance"] for bar in bars) > 0.9
    assert len(bars) <= 45


def test_it_is_drawn_and_described():
    seen = [Specimen(55.0, flashed=False), Specimen(60.0, flashed=True)]
    drawing = svg(belief_chart(*bell(58, 1), specimens=seen, next_cup_c=58.0))
    assert "55 °C no flash; 60 °C flash" in drawing
    assert "Next: 58 °C." in drawing


def test_nothing_is_not_drawn():
    with pytest.raises(InputError, match="needs chances"):
        belief_chart([], [])
