"""Pictures of calculated blends: they hold what they were given, and can be drawn strictly."""

import pytest

from closedcup.errors import InputError
from closedcup.reports import svg
from closedcup.reports.blend_chart import line_chart, map_chart


def test_a_line_names_its_liquids_its_levels_and_its_lowest_point():
    points = [(0.0, 13.0), (0.2, 3.1), (1.0, 12.9), (0.5, None)]
    spec = line_chart(
        "octane", "ethanol", points, basis="mole", levels_c=[10, 60], minimum=(0.2, 3.1)
    )
    drawing = svg(spec)
    for text in ("ethanol, share by mole", "10 °C", "lowest 3.1 °C", "not a test result"):
        assert text in drawing
    assert "60 °C" not in drawing
    with pytest.raises(InputError, match="None of these"):
        line_chart("water", "water", [(0.0, None)], basis="mole")


def test_a_map_draws_class_limits_strong_and_words_apart():
    def across(share):
        return [((share, 1 - share, 0.0), (share, 0.0, 1 - share))]

    contours = {23.0: across(0.5), 25.0: across(0.51), 30.0: across(0.8)}
    spec = map_chart(["ethanol", "toluene", "decane"], contours, basis="mass", levels_c=[23.0])
    drawing = svg(spec)
    assert all(text in drawing for text in ("ethanol", "decane", "23 °C", "30 °C"))
    words = [value["text"] for layer in spec["layer"] for value in layer["data"]["values"]
             if "text" in value]  # fmt: skip
    assert "25 °C" not in words
    widths = [layer["mark"].get("strokeWidth") for layer in spec["layer"]]
    assert 2.5 in widths


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_a_map_rings_the_blends_that_part(theme):
    steps = 20
    points = [
        ((i / steps, j / steps, 1 - (i + j) / steps), float(i), 2 if i == 10 else 1)
        for i in range(steps + 1)
        for j in range(steps + 1 - i)
    ]
    spec = map_chart(["water", "toluene", "ethanol"], {}, basis="mass", points=points, theme=theme)
    dots = next(layer for layer in spec["layer"] if "fill" in layer["encoding"])
    assert len(dots["data"]["values"]) == 231
    assert sum(value["ring"] for value in dots["data"]["values"]) == 11
    drawing = svg(spec)
    assert "ringed: two or three liquids" in drawing
    assert "flash point, °C" in drawing
