"""The triangle of three liquids: where a blend stands in it, and its dots."""

import math
from collections.abc import Sequence
from typing import Any, Final

from closedcup.reports.appearance import Theme, ThemeName
from closedcup.reports.drawing import Spec

SIDE: Final = 560
TALL: Final = math.sqrt(3) / 2
# Shares, flash point in °C or None, number of liquids.
Point = tuple[Sequence[float], float | None, int]
# Dots a side, so that each can be told from the next.
_DOTS: Final = 25
# From the lowest flash point to the highest; pale enough for words over them.
DOT_COLOURS: Final[dict[ThemeName, list[str]]] = {
    "light": ["#f2a873", "#f5c9a6", "#f3e7cd", "#c9e0f0", "#94c4e4"],
    "dark": ["#9a5218", "#6d4a26", "#4f4a35", "#33536a", "#1c5c8a"],
}
_RINGED: Final = "ringed: two or three liquids"


def plane(shares: Sequence[float]) -> tuple[float, float]:
    """Place three shares: the first liquid left below, the second right below, the third above."""
    return shares[1] + shares[2] / 2, shares[2] * TALL


def axes(x: str, y: str) -> Spec:
    """Return the encoding of places in the plane of the triangle."""
    return {
        "x": {"field": x, "type": "quantitative", "axis": None, "scale": {"domain": [-0.08, 1.08]}},
        "y": {
            "field": y,
            "type": "quantitative",
            "axis": None,
            "scale": {"domain": [-0.09, TALL + 0.06]},
        },
    }


def dots(points: Sequence[Point], colours: Theme, theme: ThemeName) -> list[Spec]:
    """Return dots in the colour of their flash point, ringed where a blend is several liquids."""
    values = [_dot(point) for point in _thinned(points) if point[1] is not None]
    if not values:
        return []
    ringed = any(value["ring"] for value in values)
    colour = {
        "field": "flash_c",
        "type": "quantitative",
        "scale": {"type": "quantize", "range": DOT_COLOURS[theme]},
        "legend": {"title": "flash point, °C", "type": "symbol", "symbolType": "circle",
                   "format": ".0f", "titleFontSize": 14},
    }  # fmt: skip
    ring = {"condition": {"test": "datum.ring", "value": colours.faint}, "value": None}
    layers: list[Spec] = [
        {
            "data": {"values": values},
            "mark": {"type": "point", "shape": "circle", "filled": True, "size": 190, "opacity": 1,
                     "strokeWidth": 1.5},
            "encoding": {**axes("x", "y"), "fill": colour, "stroke": ring},
        }
    ]  # fmt: skip
    if ringed:
        words = {"type": "text", "align": "left", "color": colours.ink, "fontSize": 14}
        place = {"x": -0.06, "y": TALL + 0.03, "text": _RINGED}
        layers.append({
            "data": {"values": [place]},
            "mark": words,
            "encoding": {**axes("x", "y"), "text": {"field": "text"}},
        })  # fmt: skip
    return layers


def _dot(point: Point) -> dict[str, Any]:
    (x, y), flash_c = plane(point[0]), point[1]
    return {"x": round(x, 4), "y": round(y, 4), "flash_c": flash_c, "ring": point[2] > 1}


def _thinned(points: Sequence[Point]) -> list[Point]:
    """Keep every so many steps of the lattice, and both ends where the steps allow it."""
    steps = round((math.sqrt(8 * len(points) + 1) - 3) / 2) if points else 0
    every = next((n for n in range(1, steps + 1) if steps % n == 0 and steps / n <= _DOTS), 1)
    return [
        point
        for point in points
        if all(round(share * steps) % every == 0 for share in point[0][:2])
    ]
