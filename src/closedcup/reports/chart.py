"""The picture of determinations against temperature: one spec for the page and the document.

`determinations_chart` makes a Vega-Lite dict, which drawing.py draws. Shape and filling tell flash
from no flash, colour only repeats it. The left axis is what the cup shows, the right axis the
same temperatures corrected to 101.3 kPa; the two differ by one constant and are never mixed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec

CountsAs = Literal["flash", "no flash", "void", "stop"]

_BAND_WORDS: Final = "highest no flash to lowest flash"
_CROSS: Final = "M-0.8,-0.8L0.8,0.8M-0.8,0.8L0.8,-0.8"
_WIDTH, _HEIGHT = 620, 250
_HEIGHT_ONLY: Final[Spec] = {
    "type": "quantitative",
    "axis": None,
}  # the axes are layers of their own
_LABEL_GUTTER = 128  # room left of the first mark for the words beside the lines
_MOST_LABELLED = 14  # with more marks their temperatures would run into each other
_PLACE: Final[Spec] = {
    "x": {
        "field": "number",
        "type": "ordinal",
        "sort": None,
        "title": "determination",
        "scale": {"range": [_LABEL_GUTTER, _WIDTH]},
    },
    "y": {**_HEIGHT_ONLY, "field": "cup_c"},
}


@dataclass(frozen=True, slots=True)
class Point:
    """One determination as drawn; `cup_c` is what the cup showed, as recorded.

    `used` is false where the determination does not support the result: it is drawn faint, its
    temperature in brackets.
    """

    number: int
    cup_c: float | str
    counts_as: CountsAs
    used: bool = True


def determinations_chart(  # noqa: PLR0913  (each is one thing drawn, and has its name at the call)
    points: Sequence[Point],
    *,
    correction_c: float | None = None,
    bracket_cup_c: tuple[float, float] | None = None,
    reported_c: float | str | None = None,
    limit_c: float | None = None,
    limit_text: str = "",
    next_cup_c: float | None = None,
    theme: ThemeName = "light",
) -> Spec:
    """Return the Vega-Lite spec of the determinations of one sample, in the order made.

    `correction_c` is what is added to a cup reading to get the temperature corrected to
    101.3 kPa (probe and pressure together). `bracket_cup_c` is (highest no flash, lowest flash)
    as the cup showed them; `reported_c` and `limit_c` are corrected temperatures and need
    `correction_c`. `next_cup_c` marks the temperature to set next. Values are inline; nothing
    is fetched. Raises InputError where there is nothing to draw or a scale is missing.
    """
    if not points and next_cup_c is None:
        raise InputError("nothing-to-draw", "A chart needs at least one determination.")
    if correction_c is None and (reported_c is not None or limit_c is not None):
        raise InputError(
            "scale-missing",
            "A corrected temperature cannot be drawn beside cup readings without the correction.",
            where="correction_c",
            fix="Give the probe and pressure corrections of this series, added together.",
        )
    colours = THEMES[theme]
    lines = _lines(correction_c, reported_c, limit_c, limit_text)
    low, high = _temperature_range(points, bracket_cup_c, lines, next_cup_c)
    layers = [
        *_temperature_axes(low, high, correction_c),
        *_band(bracket_cup_c),
        *_line_layers(lines, colours),
        *_marks(points, next_cup_c, colours),
        *_labels(points, next_cup_c, lines, (high - low) / _HEIGHT, colours),
    ]
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "usermeta": {"title": "Determinations against temperature"},
        "description": describe(points, bracket_cup_c, lines, next_cup_c),
        "width": _WIDTH,
        "height": _HEIGHT,
        "padding": 4,
        "layer": layers,
        "resolve": {"axis": {"y": "independent"}},
        "config": configuration(colours),
    }


@dataclass(frozen=True, slots=True)
class _Line:
    cup_c: float
    text: str
    kind: Literal["limit", "reported"]


def _lines(
    correction_c: float | None,
    reported_c: float | str | None,
    limit_c: float | None,
    limit_text: str,
) -> list[_Line]:
    """Place corrected temperatures on the cup's scale."""
    shift = correction_c or 0.0
    lines = []
    if limit_c is not None:
        words = f"limit {limit_text}" if limit_text else f"limit {limit_c} °C"
        lines.append(_Line(float(limit_c) - shift, words, "limit"))
    if reported_c is not None:
        lines.append(_Line(float(reported_c) - shift, f"reported {reported_c} °C", "reported"))
    return sorted(lines, key=lambda line: line.cup_c)


def _temperature_range(
    points: Sequence[Point],
    bracket: tuple[float, float] | None,
    lines: Sequence[_Line],
    next_cup_c: float | None,
) -> tuple[float, float]:
    shown = [float(point.cup_c) for point in points]
    shown += list(bracket or ())
    shown += [line.cup_c for line in lines]
    shown += [] if next_cup_c is None else [next_cup_c]
    margin = max(1.0, 0.18 * (max(shown) - min(shown)))
    return min(shown) - margin, max(shown) + margin


def describe(
    points: Sequence[Point],
    bracket: tuple[float, float] | None,
    lines: Sequence[_Line] = (),
    next_cup_c: float | None = None,
) -> str:
    """Say in words what the picture shows, for those who do not see it."""
    parts = [
        f"{point.number}: {point.cup_c} °C {point.counts_as}" + ("" if point.used else ", not used")
        for point in points
    ]
    text = "Cup temperature of each determination in the order made. " + "; ".join(parts)
    if bracket:
        text += f". Highest no flash {bracket[0]} °C, lowest flash {bracket[1]} °C as shown"
    for line in lines:
        text += f". Line: {line.text}"
    if next_cup_c is not None:
        text += f". Next temperature to set: {next_cup_c} °C"
    return text + "."


def _band(bracket: tuple[float, float] | None) -> list[Spec]:
    if bracket is None:
        return []
    return [
        {
            "data": {"values": [{"low": bracket[0], "high": bracket[1], "band": _BAND_WORDS}]},
            "mark": {"type": "rect", "opacity": 1},
            "encoding": {
                "y": {**_HEIGHT_ONLY, "field": "low"},
                "y2": {"field": "high"},
                "color": {"field": "band", "type": "nominal", "title": None},
            },
        }
    ]


def _line_layers(lines: Sequence[_Line], colours: Theme) -> list[Spec]:
    """Draw each line with its words: the upper one's above it, the lower one's below."""
    layers: list[Spec] = []
    for place, line in enumerate(lines):
        above = place == len(lines) - 1
        colour = colours.limit if line.kind == "limit" else colours.ink
        data = {"values": [{"cup_c": line.cup_c, "text": line.text}]}
        height = {**_HEIGHT_ONLY, "field": "cup_c"}
        layers += [
            {
                "data": data,
                "mark": {
                    "type": "rule",
                    "color": colour,
                    "strokeWidth": 2,
                    "strokeDash": [8, 4] if line.kind == "limit" else [2, 3],
                },
                "encoding": {"y": height},
            },
            {
                "data": data,
                "mark": {
                    "type": "text",
                    "x": 6,
                    "align": "left",
                    "baseline": "bottom" if above else "top",
                    "dy": -4 if above else 5,
                    "color": colour,
                    "fontSize": 14,
                    "fontWeight": 600,
                },
                "encoding": {"y": height, "text": {"field": "text"}},
            },
        ]
    return layers


def _marks(points: Sequence[Point], next_cup_c: float | None, colours: Theme) -> list[Spec]:
    rows: list[dict[str, object]] = [
        {
            "number": str(point.number),
            "cup_c": float(point.cup_c),
            "shown": point.counts_as,
            "opacity": 1.0 if point.used else 0.45,
        }
        for point in points
    ]
    if next_cup_c is not None:
        rows.append({"number": "next", "cup_c": next_cup_c, "shown": "next", "opacity": 1.0})
    return [
        {
            "data": {"values": rows},
            "mark": {"type": "point", "size": 230, "strokeWidth": 2.5},
            "encoding": {**_PLACE, **_appearance(rows, colours)},
        }
    ]


def _labels(
    points: Sequence[Point],
    next_cup_c: float | None,
    lines: Sequence[_Line],
    c_per_pixel: float,
    colours: Theme,
) -> list[Spec]:
    """Write each temperature beside its mark, on the side where no line crosses it.

    A no flash prefers its lower side: it lies below the flash point, and so below the lines.
    """
    shown = [(str(p.number), p.cup_c, p.counts_as == "no flash", p.used) for p in points]
    if next_cup_c is not None:
        shown.append(("next", next_cup_c, False, True))
    if len(shown) > _MOST_LABELLED:
        return []
    reach_c = 28 * c_per_pixel  # from the middle of a mark to the far edge of its label
    sides: dict[bool, list[dict[str, object]]] = {True: [], False: []}
    for number, cup_c, prefers_below, used in shown:
        distances = [line.cup_c - float(cup_c) for line in lines]
        crossed_above = any(0 < distance < reach_c for distance in distances)
        crossed_below = any(-reach_c < distance < 0 for distance in distances)
        below = prefers_below if crossed_above == crossed_below else crossed_above
        figure = f"{cup_c}".replace("-", "−")
        label = figure if used else f"({figure})"
        sides[below].append({"number": number, "cup_c": float(cup_c), "label": label})
    return [
        {
            "data": {"values": rows},
            "mark": {
                "type": "text",
                "dy": 20 if below else -18,
                "fontSize": 14,
                "color": colours.ink,
            },
            "encoding": {**_PLACE, "text": {"field": "label"}},
        }
        for below, rows in sides.items()
        if rows
    ]


def _appearance(rows: Sequence[dict[str, object]], colours: Theme) -> Spec:
    """Give shape, filling and outline of each kind of mark, in one legend of words."""
    kinds = {
        "flash": ("triangle-up", colours.flash, colours.flash),
        "no flash": ("circle", "transparent", colours.no_flash),
        "void": (_CROSS, "transparent", colours.faint),
        "stop": ("square", colours.ink, colours.ink),
        "next": ("diamond", "transparent", colours.ink),
    }
    present = {row["shown"] for row in rows}
    shown = [kind for kind in kinds if kind in present or kind in ("flash", "no flash")]

    def channel(column: int) -> Spec:
        return {
            "field": "shown",
            "type": "nominal",
            "title": None,
            "scale": {"domain": shown, "range": [kinds[kind][column] for kind in shown]},
        }

    return {
        "shape": channel(0),
        "fill": channel(1),
        "stroke": channel(2),
        "opacity": {"field": "opacity", "type": "quantitative", "scale": None},
    }


def _temperature_axes(low: float, high: float, correction_c: float | None) -> list[Spec]:
    """Draw the left axis (cup) and, where the correction is known, the right one (corrected).

    The right axis has round corrected temperatures at their place on the cup's scale.
    """
    step = next((size for size in (0.5, 1, 2, 5, 10, 20) if (high - low) / size <= 9), 50)
    axes: list[Spec] = [
        {"values": _round_values(low, high, step), "title": "cup shows, °C", "titlePadding": 10}
    ]
    if correction_c is not None:
        corrected = _round_values(low + correction_c, high + correction_c, step)
        decimals = 1 if step < 1 else 0
        axes.append(
            {
                "orient": "right",
                "values": [round(value - correction_c, 6) for value in corrected],
                "labelExpr": f"format(datum.value + ({correction_c!r}), '.{decimals}f')",
                "title": "corrected to 101.3 kPa, °C",
                "titlePadding": 10,
                "grid": False,
            }
        )
    scale = {"domain": [low, high], "nice": False, "zero": False}
    return [
        {
            "data": {"values": [{"cup_c": low}]},
            "mark": {"type": "point", "opacity": 0},
            "encoding": {
                "y": {"field": "cup_c", "type": "quantitative", "scale": scale, "axis": axis}
            },
        }
        for axis in axes
    ]


def _round_values(low: float, high: float, step: float) -> list[float]:
    return [number * step for number in range(math.ceil(low / step), math.floor(high / step) + 1)]
