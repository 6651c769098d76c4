"""The picture of a control chart: one spec for the page and the file.

A point that signals differs by shape and filling, and bears its rules' numbers; colour only
repeats it. A point with an assigned cause is crossed out of the base and named below the picture.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec

_WIDTH, _HEIGHT = 720, 280
_MOST_RULES_WRITTEN: Final = 12  # with more, their numbers would run into each other
_KINDS: Final = ("in control", "signal", "assigned cause")


@dataclass(frozen=True, slots=True)
class ChartedPoint:
    """A point as drawn: its place from 1, its value, the rules that it completes, its cause."""

    number: int
    value: float
    signal: tuple[str, ...] = ()
    cause: str = ""


def control_chart(  # noqa: PLR0913  (each is one thing drawn, and has its name at the call)
    points: Sequence[ChartedPoint],
    *,
    centre: float,
    lower: float,
    upper: float,
    base: int,
    title: str,
    unit: str,
    theme: ThemeName = "light",
    names: tuple[str, str, str] = _KINDS,
) -> Spec:
    """Return the Vega-Lite spec of a control chart; the first `base` points gave the limits.

    `names` say what a plain point, one with a signal and one with a cause is. Raises InputError
    where there is nothing to draw.
    """
    if not points:
        raise InputError("nothing-to-draw", "A chart needs at least one point.", where="points")
    colours = THEMES[theme]
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "usermeta": {"title": title},
        "description": describe_control_chart(points, centre, lower, upper, unit),
        "width": _WIDTH,
        "height": _HEIGHT,
        "padding": 4,
        "layer": [
            *_line_layers(centre, lower, upper, colours),
            *_base_end(base, len(points), colours),
            *_point_layers(points, unit, names, colours),
            *_rule_numbers(points, centre, colours),
        ],
        "config": configuration(colours),
    }


def describe_control_chart(
    points: Sequence[ChartedPoint], centre: float, lower: float, upper: float, unit: str
) -> str:
    """Say in words what the picture shows, for those who do not see it."""
    signals = [f"{point.number} ({', '.join(point.signal)})" for point in points if point.signal]
    causes = [f"{point.number}: {point.cause}" for point in points if point.cause]
    text = (
        f"{len(points)} points in order, {unit}. Centre {centre:.4g}, limits {lower:.4g} to "
        f"{upper:.4g}. "
    )
    text += f"Signals at {'; '.join(signals)}." if signals else "No signal."
    return text + (f" Assigned causes: {'; '.join(causes)}." if causes else "")


def _line_layers(centre: float, lower: float, upper: float, colours: Theme) -> list[Spec]:
    lines = [
        ("upper limit", upper, [8, 4], colours.limit),
        ("centre", centre, [1, 0], colours.ink),
        ("lower limit", lower, [8, 4], colours.limit),
    ]
    layers: list[Spec] = []
    for words, value, dash, colour in lines:
        data = {"values": [{"value": value, "words": f"{words} {value:.4g}"}]}
        height = {"field": "value", "type": "quantitative"}
        layers += [
            {
                "data": data,
                "mark": {"type": "rule", "color": colour, "strokeWidth": 1.8, "strokeDash": dash},
                "encoding": {"y": height},
            },
            {
                "data": data,
                "mark": {
                    "type": "text",
                    "x": _WIDTH + 6,
                    "align": "left",
                    "fontSize": 13,
                    "color": colour,
                },
                "encoding": {"y": height, "text": {"field": "words"}},
            },
        ]
    return layers


def _base_end(base: int, count: int, colours: Theme) -> list[Spec]:
    if not 0 < base < count:
        return []
    return [
        {
            "data": {"values": [{"number": base + 0.5}]},
            "mark": {"type": "rule", "color": colours.faint, "strokeDash": [2, 3]},
            "encoding": {"x": {"field": "number", "type": "quantitative"}},
        },
        {
            "data": {"values": [{"number": base + 0.5}]},
            "mark": {
                "type": "text",
                "text": "end of base",
                "align": "left",
                "dx": 4,
                "y": 8,
                "fontSize": 12,
                "color": colours.faint,
            },
            "encoding": {"x": {"field": "number", "type": "quantitative"}},
        },
    ]


def _point_layers(
    points: Sequence[ChartedPoint], unit: str, names: tuple[str, str, str], colours: Theme
) -> list[Spec]:
    plain, signal, cause = names
    rows = [
        {
            "number": point.number,
            "value": point.value,
            "shown": cause if point.cause else signal if point.signal else plain,
        }
        for point in points
    ]
    place: Spec = {
        "x": {
            "field": "number",
            "type": "quantitative",
            "title": "point",
            "scale": {"domain": [0, points[-1].number + 1], "nice": False},
            "axis": {"tickMinStep": 1, "format": "d"},
        },
        "y": {
            "field": "value",
            "type": "quantitative",
            "title": unit,
            "scale": {"zero": False},
        },
    }
    looks = {
        "shape": ("circle", "triangle-up", "square"),
        "fill": (colours.no_flash, colours.flash, "transparent"),
        "stroke": (colours.no_flash, colours.flash, colours.ink),
    }
    channels = {
        channel: {
            "field": "shown",
            "type": "nominal",
            "title": None,
            "scale": {"domain": list(names), "range": list(values)},
        }
        for channel, values in looks.items()
    }
    size = 90 if len(points) <= 60 else 24
    return [
        {
            "data": {"values": rows},
            "mark": {"type": "line", "color": colours.faint, "strokeWidth": 1},
            "encoding": place,
        },
        {
            "data": {"values": rows},
            "mark": {"type": "point", "size": size, "opacity": 1},
            "encoding": {**place, **channels},
        },
    ]


def _rule_numbers(points: Sequence[ChartedPoint], centre: float, colours: Theme) -> list[Spec]:
    signals = [point for point in points if point.signal]
    if len(signals) > _MOST_RULES_WRITTEN:
        return []
    layers: list[Spec] = []
    for above in (True, False):
        rows = [
            {"number": point.number, "value": point.value, "words": " ".join(point.signal)}
            for point in signals
            if (point.value >= centre) is above
        ]
        if rows:
            layers.append(
                {
                    "data": {"values": rows},
                    "mark": {
                        "type": "text",
                        "dy": -13 if above else 15,
                        "fontSize": 12,
                        "color": colours.ink,
                    },
                    "encoding": {
                        "x": {"field": "number", "type": "quantitative"},
                        "y": {"field": "value", "type": "quantitative"},
                        "text": {"field": "words"},
                    },
                }
            )
    return layers
