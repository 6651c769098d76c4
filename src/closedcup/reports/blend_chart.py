"""Pictures of calculated flash points over blends of two and of three liquids.

Both are Vega-Lite dicts with inline values. Class limits are the strong lines, round temperatures
the faint ones; nothing depends on colour alone, every line with room for it bears its temperature.
"""

from collections.abc import Mapping, Sequence
from typing import Final

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec
from closedcup.reports.triangle import SIDE, TALL, Point, axes, dots, plane

_SCHEMA: Final = "https://vega.github.io/schema/vega-lite/v6.json"
_WIDTH, _HEIGHT = 620, 320
_PURE: Final = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
# Room for "100 °C" as a part of the side.
_WORDS_WIDE, _WORDS_HIGH = 0.11, 0.045
Piece = Sequence[Sequence[float]]


def line_chart(  # noqa: PLR0913 - each is one thing drawn, and has its name at the call
    first: str,
    second: str,
    points: Sequence[tuple[float, float | None]],
    *,
    basis: str,
    levels_c: Sequence[float] = (),
    minimum: tuple[float, float] | None = None,
    theme: ThemeName = "light",
) -> Spec:
    """Return the spec of flash point against the share of the second liquid.

    `points` are (share, flash point in °C or None where there is none). Raises InputError where
    no point has a flash point.
    """
    known = [(share, flash_c) for share, flash_c in points if flash_c is not None]
    if not known:
        raise InputError("nothing-to-draw", "None of these blends has a flash point.")
    colours = THEMES[theme]
    low, high = min(f for _, f in known), max(f for _, f in known)
    room = max(2.0, 0.1 * (high - low))
    shown = [level for level in levels_c if low - room <= level <= high + room]
    height = {
        "field": "flash_c",
        "type": "quantitative",
        "title": "flash point, °C (calculated)",
        "scale": {"domain": [low - room, high + room], "nice": False},
    }
    place = {
        "field": "share",
        "type": "quantitative",
        "title": f"{second}, share by {basis}",
        "axis": {"format": "%"},
    }
    layers: list[Spec] = [
        _level_lines(shown, height, colours),
        {
            "data": {"values": [{"share": s, "flash_c": f} for s, f in known]},
            "mark": {"type": "line", "color": colours.no_flash, "strokeWidth": 2.5},
            "encoding": {"x": place, "y": height},
        },
        *_level_words(shown, known, height, colours),
    ]
    if minimum is not None:
        layers += _lowest({"share": minimum[0], "flash_c": minimum[1]}, place, height, colours)
    lowest = f"; lowest {minimum[1]:.1f} °C at {minimum[0]:.0%}" if minimum else ""
    return {
        "$schema": _SCHEMA,
        "usermeta": {"title": f"Calculated flash point of {first} and {second}"},
        "description": f"From {known[0][1]:.1f} °C at {known[0][0]:.0%} {second} to "
        f"{known[-1][1]:.1f} °C at {known[-1][0]:.0%}{lowest}. Calculated, not a test result.",
        "width": _WIDTH,
        "height": _HEIGHT,
        "padding": 4,
        "layer": layers,
        "config": configuration(colours),
    }


def map_chart(  # noqa: PLR0913 - each is one thing drawn, and has its name at the call
    liquids: Sequence[str],
    contours: Mapping[float, Sequence[Piece]],
    *,
    basis: str,
    levels_c: Sequence[float] = (),
    points: Sequence[Point] = (),
    theme: ThemeName = "light",
) -> Spec:
    """Return the spec of a triangle of three liquids with lines of equal flash point.

    `contours` maps a flash point in °C to its pieces, each two ends of three shares; those in
    `levels_c` are drawn strong. A corner is the pure liquid named there. `points` are (shares,
    flash point in °C or None, number of liquids); they are drawn as dots, ringed where a blend is
    several liquids.
    """
    colours = THEMES[theme]
    strong = {level: pieces for level, pieces in contours.items() if level in levels_c}
    faint = {level: pieces for level, pieces in contours.items() if level not in levels_c}
    taken: list[tuple[float, float]] = [plane(corner) for corner in _PURE]
    strong_layers = _contour_layers(strong, colours.limit, colours.limit, 2.5, taken)
    layers = [
        _frame(colours),
        *dots(points, colours, theme),
        *_contour_layers(faint, colours.faint, colours.ink, 1.0, taken),
        *strong_layers,
        _corners(liquids, colours),
    ]
    drawn = ", ".join(f"{level:g} °C" for level, pieces in sorted(contours.items()) if pieces)
    return {
        "$schema": _SCHEMA,
        "usermeta": {"title": f"Calculated flash point of {', '.join(liquids)} by {basis}"},
        "description": f"Triangle of all blends by {basis}; lines of equal flash point at "
        f"{drawn or 'no temperature'}. Calculated, not a test result.",
        "width": SIDE,
        "height": round(SIDE * TALL),
        "padding": 8,
        "layer": layers,
        "config": configuration(colours),
    }


def _level_lines(levels_c: Sequence[float], height: Spec, colours: Theme) -> Spec:
    return {
        "data": {"values": [{"flash_c": level} for level in levels_c]},
        "mark": {"type": "rule", "color": colours.limit, "strokeWidth": 2, "strokeDash": [8, 4]},
        "encoding": {"y": height},
    }


def _level_words(
    levels_c: Sequence[float], known: Sequence[tuple[float, float]], height: Spec, colours: Theme
) -> list[Spec]:
    """Name each level at the end of its line where the curve leaves more room."""
    left: list[Spec] = []
    right: list[Spec] = []
    for level in levels_c:
        room_left = min(abs(f - level) for s, f in known if s <= known[0][0] + _WORDS_WIDE)
        room_right = min(abs(f - level) for s, f in known if s >= known[-1][0] - _WORDS_WIDE)
        side = right if room_right >= room_left else left
        side.append({"flash_c": level, "text": f"{level:g} °C"})
    shared = {"type": "text", "baseline": "bottom", "dy": -2, "color": colours.limit,
              "fontSize": 14}  # fmt: skip
    return [
        {
            "data": {"values": values},
            "mark": {**shared, "align": align, "dx": dx},
            "encoding": {"y": height, "x": {"value": at}, "text": {"field": "text"}},
        }
        for values, align, dx, at in ((left, "left", 4, 0), (right, "right", -4, _WIDTH))
    ]


def _lowest(point: dict[str, float], place: Spec, height: Spec, colours: Theme) -> list[Spec]:
    data = {"values": [{**point, "text": f"lowest {point['flash_c']:.1f} °C"}]}
    encoding = {"x": place, "y": height}
    words = {"type": "text", "baseline": "top", "dy": 8, "color": colours.ink, "fontSize": 14}
    return [
        {
            "data": data,
            "mark": {"type": "point", "color": colours.ink, "size": 90, "filled": False},
            "encoding": encoding,
        },
        {"data": data, "mark": words, "encoding": {**encoding, "text": {"field": "text"}}},
    ]


def _frame(colours: Theme) -> Spec:
    """Draw the triangle and its lines of equal share, every fifth."""
    ends = []
    for fifth in range(5):
        a, rest = fifth / 5, 1 - fifth / 5
        ends += [((a, rest, 0), (a, 0, rest)), ((rest, a, 0), (0, a, rest)),
                 ((rest, 0, a), (0, rest, a))]  # fmt: skip
    return {
        "data": {"values": [_piece(one, other) for one, other in ends]},
        "mark": {"type": "rule", "color": colours.grid, "strokeWidth": 1},
        "encoding": {**axes("x", "y"), "x2": {"field": "x2"}, "y2": {"field": "y2"}},
    }


def _piece(one: Sequence[float], other: Sequence[float]) -> dict[str, float]:
    (x, y), (x2, y2) = plane(one), plane(other)
    return {"x": round(x, 4), "y": round(y, 4), "x2": round(x2, 4), "y2": round(y2, 4)}


def _contour_layers(
    contours: Mapping[float, Sequence[Piece]],
    colour: str,
    words_colour: str,
    width: float,
    taken: list[tuple[float, float]],
) -> list[Spec]:
    """Draw lines with their temperature where no other stands; `taken` grows by the new words."""
    pieces = [_piece(*piece) for some in contours.values() for piece in some]
    words = []
    for level, some in sorted(contours.items()):
        place = next((at for at in map(_middle, some) if _is_free(at, taken)), None)
        if place is not None:
            taken.append(place)
            words.append(
                {"x": round(place[0], 4), "y": round(place[1], 4), "text": f"{level:g} °C"}
            )
    text = {"type": "text", "color": words_colour, "fontSize": 14, "dy": -8, "fontWeight": 600}
    return [
        {
            "data": {"values": pieces},
            "mark": {"type": "rule", "color": colour, "strokeWidth": width},
            "encoding": {**axes("x", "y"), "x2": {"field": "x2"}, "y2": {"field": "y2"}},
        },
        {
            "data": {"values": words},
            "mark": text,
            "encoding": {**axes("x", "y"), "text": {"field": "text"}},
        },
    ]


def _middle(piece: Piece) -> tuple[float, float]:
    (x, y), (x2, y2) = plane(piece[0]), plane(piece[1])
    return (x + x2) / 2, (y + y2) / 2


def _is_free(place: tuple[float, float], taken: Sequence[tuple[float, float]]) -> bool:
    return all(abs(place[0] - x) > _WORDS_WIDE or abs(place[1] - y) > _WORDS_HIGH for x, y in taken)


def _corners(liquids: Sequence[str], colours: Theme) -> Spec:
    places = [(0.0, -0.05), (1.0, -0.05), (0.5, TALL + 0.035)]
    values = [{"x": x, "y": y, "text": name} for name, (x, y) in zip(liquids, places, strict=True)]
    return {
        "data": {"values": values},
        "mark": {"type": "text", "color": colours.ink, "fontSize": 15, "fontWeight": 600},
        "encoding": {**axes("x", "y"), "text": {"field": "text"}},
    }
