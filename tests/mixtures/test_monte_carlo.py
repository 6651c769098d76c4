"""The drawn interval: equal to the sum of squares where the sum is straight, and longer on one side
where it is not."""

import numpy as np
import pytest

from closedcup.mixtures import blend, estimate, find
from closedcup.mixtures.flash_point import make_sum
from closedcup.mixtures.monte_carlo import drawn_flash_c, interval_c
from closedcup.mixtures.pure_values import pure_flashes


def drawn(names, x, **choices):
    liquids = [find(name) for name in names]
    flash_sum = make_sum(liquids)
    x = np.array(x)
    root = float(estimate(blend(zip(names, x.tolist(), strict=True))).flash_c)
    return root, drawn_flash_c(flash_sum, pure_flashes(liquids), x, root, **choices)


def test_without_uncertain_amounts_it_is_the_sum_of_squares():
    found = estimate(blend(["octane=0.5", "toluene=0.5"]))
    squares = np.sqrt(sum(part.half_width_c**2 for part in found.parts))
    assert found.high_c - found.flash_c == pytest.approx(squares, rel=0.08)
    assert found.flash_c - found.low_c == pytest.approx(squares, rel=0.08)


def test_what_adds_is_normal():
    root, values = drawn(["hexadecane"], [1.0], added_half_width_c=30.0)
    low, high = interval_c(values, 0.95)
    assert high - root == pytest.approx(30, rel=0.06)
    assert root - low == pytest.approx(30, rel=0.06)


def test_an_uncertain_trace_reaches_further_up_than_down():
    names, x = ["octane", "hexadecane"], [0.01, 0.99]
    root, values = drawn(names, x, amount_uncertainty=0.5)
    low, high = interval_c(values, 0.95)
    certain = interval_c(drawn(names, x)[1], 0.95)
    assert high - low > 1.5 * (certain[1] - certain[0])
    assert low < root < high


def test_it_is_the_same_for_the_same_blend():
    one, other = (drawn(["ethanol", "octane"], [0.4, 0.6])[1] for _ in range(2))
    np.testing.assert_array_equal(one, other)
