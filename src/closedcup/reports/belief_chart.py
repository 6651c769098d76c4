"""The picture of what is believed of a flash point: chances of each step, and what was seen.

A bar is the chance that the flash point lies in that stretch of the cup's scale. Above the bars
stand the specimens: a triangle flashed, a circle did not. A dashed line is the next temperature.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec

_WIDTH, _HEIGHT = 330, 150
_MOST_BARS: Final = 40
_SEEN: Final = 0.002  # bars with less of the chance than this are not needed to see the whole


@dataclass(frozen=True, slots=True)
class Specimen:
    """A valid determination as drawn: the cup's temperature, and whether it flashed."""

    cup_c: float
    flashed: bool


def belief_chart(  # noqa: PLR0913 - each is one thing drawn, and has its name at the call
    flash_cup_c: Sequence[float],
    chance: Sequence[float],
    *,
    specimens: Sequence[Specimen] = (),
    next_cup_c: float | None = None,
    next_words: str = "next",
    theme: ThemeName = "light",
) -> Spec:
    """Return the Vega-Lite spec of a belief on the cup's scale; chances sum to 1.

    Raises InputError where there is nothing to draw.
    """
    if not flash_cup_c or len(flash_cup_c) != len(chance):
        raise InputError("nothing-to-draw", "A picture needs chances of flash points.")
    colours = THEMES[theme]
    bars = _bars(flash_cup_c, chance, specimens, next_cup_c)
    top = max(bar["chance"] for bar in bars) * 1.25
    layers = [_bar_layer(bars, colours)]
    if next_cup_c is not None:
        layers += _next_layers(next_cup_c, next_words, top, colours)
    layers += _specimen_layers(specimens, top * 0.94, colours)
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "usermeta": {"title": "Where the flash point is believed to lie"},
        "description": describe_belief(bars, specimens, next_cup_c),
        "width": _WIDTH,
        "height": _HEIGHT,
        "padding": 4,
        "layer": layers,
        "config": configuration(colours),
    }


def describe_belief(
    bars: Sequence[Spec], specimens: Sequence[Specimen], next_cup_c: float | None
) -> str:
    """Say in words what the picture shows, for those who do not see it."""
    best = max(bars, key=lambda bar: bar["chance"])
    text = (
        f"Chances of the flash point, as the cup shows it. Likeliest from {best['from']:g} to "
        f"{best['to']:g} °C, {best['chance']:.0%}"
    )
    if specimens:
        told = [f"{each.cup_c:g} °C {_seen(each)}" for each in specimens]
        text += f". Specimens: {'; '.join(told)}"
    return text + ("." if next_cup_c is None else f". Next: {next_cup_c:g} °C.")


def _seen(specimen: Specimen) -> str:
    return "flash" if specimen.flashed else "no flash"


def _bars(
    flash_cup_c: Sequence[float],
    chance: Sequence[float],
    specimens: Sequence[Specimen],
    next_cup_c: float | None,
) -> list[Spec]:
    """Return the chances of whole stretches, of 1 °C where so many fit the picture."""
    shown = [at for at, each in zip(flash_cup_c, chance, strict=True) if each > _SEEN / 10]
    shown = shown or list(flash_cup_c)
    marked = [each.cup_c for each in specimens] + ([] if next_cup_c is None else [next_cup_c])
    low, high = min([*shown, *marked]), max([*shown, *marked])
    width = next(
        (each for each in (1.0, 2.0, 5.0, 10.0, 20.0) if (high - low) / each <= _MOST_BARS), 50.0
    )
    found: dict[int, float] = {}
    for at, each in zip(flash_cup_c, chance, strict=True):
        if low - width < at < high + width:
            found[int(at // width)] = found.get(int(at // width), 0.0) + each
    return [
        {
            "from": place * width,
            "to": (place + 1) * width,
            "chance": round(float(each), 6),
            "none": 0,
        }
        for place, each in sorted(found.items())
    ]


def _x(field: str) -> Spec:
    return {
        "field": field,
        "type": "quantitative",
        "title": "cup shows, °C",
        "scale": {"zero": False, "nice": False},
    }


def _bar_layer(bars: Sequence[Spec], colours: Theme) -> Spec:
    height = {
        "field": "chance",
        "type": "quantitative",
        "title": "chance",
        "axis": {"format": ".0%", "tickCount": 4},
    }
    return {
        "data": {"values": list(bars)},
        "mark": {"type": "rect", "color": colours.faint, "stroke": colours.grid, "strokeWidth": 1},
        "encoding": {
            "x": _x("from"),
            "x2": {"field": "to"},
            "y": {**height, "scale": {"zero": True}},
            "y2": {"field": "none"},
        },
    }


def _next_layers(next_cup_c: float, words: str, top: float, colours: Theme) -> list[Spec]:
    shown = f"{next_cup_c:g}".replace("-", "−")
    row = {"at": next_cup_c, "y": top, "text": f"{words} {shown} °C"}
    text = {"type": "text", "align": "left", "dx": 5, "baseline": "top", "fontSize": 14}
    height = {"field": "y", "type": "quantitative"}
    return [
        {
            "data": {"values": [row]},
            "mark": {"type": "rule", "color": colours.ink, "strokeDash": [6, 4], "strokeWidth": 2},
            "encoding": {"x": _x("at")},
        },
        {
            "data": {"values": [row]},
            "mark": {**text, "color": colours.ink},
            "encoding": {"x": _x("at"), "y": height, "text": {"field": "text"}},
        },
    ]


def _specimen_layers(specimens: Sequence[Specimen], at: float, colours: Theme) -> list[Spec]:
    layers = []
    for flashed, shape, colour in (
        (True, "triangle-up", colours.flash),
        (False, "circle", colours.no_flash),
    ):
        rows = [{"at": one.cup_c, "y": at} for one in specimens if one.flashed == flashed]
        if rows:
            height = {"field": "y", "type": "quantitative"}
            mark = {"type": "point", "shape": shape, "size": 90, "filled": flashed}
            layers.append(
                {
                    "data": {"values": rows},
                    "mark": {**mark, "color": colour, "strokeWidth": 2, "opacity": 1},
                    "encoding": {"x": _x("at"), "y": height},
                }
            )
    return layers
