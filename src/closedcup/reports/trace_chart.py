"""The picture of a ramp's trace: cup temperature above, detector below, over one time.

A long trace is thinned to the lowest and highest reading of equal stretches of readings, so that
no peak is lost and the drawing stays small.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec

_WIDTH, _TALL, _LOW = 620, 230, 110
_MOST_POINTS: Final = 600


@dataclass(frozen=True, slots=True)
class TraceMarks:
    """What is marked on a trace: stretches of time in seconds, a temperature as called."""

    rate_s: tuple[float, float] | None = None
    flash_s: tuple[float, float] | None = None
    flash_words: str = ""
    called_cup_c: float | None = None


def trace_chart(  # noqa: PLR0913  (each is one thing drawn, and has its name at the call)
    time_s: Sequence[float],
    cup_c: Sequence[float],
    detector: Sequence[float] | None = None,
    *,
    marks: TraceMarks | None = None,
    title: str = "Trace",
    theme: ThemeName = "light",
) -> Spec:
    """Return the Vega-Lite spec of a trace; values are inline and thinned.

    Raises InputError where there is nothing to draw.
    """
    if not time_s:
        raise InputError("nothing-to-draw", "A picture needs at least one reading.")
    colours, marks = THEMES[theme], marks or TraceMarks()
    panels = [
        _panel(
            [
                _band(marks.rate_s, colours.grid),
                _band(marks.flash_s, colours.flash),
                _curve(time_s, cup_c, "cup shows, °C", colours.no_flash),
                *_called(marks.called_cup_c, colours),
                *_flash_words(marks, max(cup_c), colours),
            ],
            _TALL,
        )
    ]
    if detector is not None:
        flash = _band(marks.flash_s, colours.flash)
        curve = _curve(time_s, detector, "detector", colours.ink)
        panels.append(_panel([flash, curve], _LOW))
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "usermeta": {"title": title},
        "description": describe_trace(time_s, cup_c, marks),
        "title": {"text": title, "color": colours.ink, "fontSize": 15, "anchor": "start"},
        "padding": 6,
        "vconcat": panels,
        "resolve": {"scale": {"x": "shared"}},
        "config": configuration(colours),
    }


def describe_trace(time_s: Sequence[float], cup_c: Sequence[float], marks: TraceMarks) -> str:
    """Say in words what the picture shows, for those who do not see it."""
    text = (
        f"Cup temperature over {(time_s[-1] - time_s[0]) / 60:.1f} min, from {cup_c[0]:.1f} to "
        f"{max(cup_c):.1f} °C as shown"
    )
    if marks.flash_s is not None:
        text += f"; {marks.flash_words} after {marks.flash_s[1] / 60:.1f} min"
    else:
        text += "; no flash found"
    if marks.called_cup_c is not None:
        text += f"; called by the analyst at {marks.called_cup_c:g} °C"
    return text + "."


def thinned(values: Sequence[float], most: int = _MOST_POINTS) -> list[int]:
    """Return the places of at most `most` values: lowest and highest of each stretch, both ends."""
    if len(values) <= most:
        return list(range(len(values)))
    stretch = -(-2 * len(values) // (most - 2))
    places = {0, len(values) - 1}
    for begin in range(0, len(values), stretch):
        some = range(begin, min(begin + stretch, len(values)))
        places |= {min(some, key=values.__getitem__), max(some, key=values.__getitem__)}
    return sorted(places)


def _panel(layers: list[Spec], height: int) -> Spec:
    return {"width": _WIDTH, "height": height, "layer": [layer for layer in layers if layer]}


def _x(field: str) -> Spec:
    return {"field": field, "type": "quantitative", "title": "time, min"}


def _curve(time_s: Sequence[float], values: Sequence[float], title: str, colour: str) -> Spec:
    rows = [
        {"min": round(time_s[place] / 60, 5), "value": round(values[place], 6)}
        for place in thinned(values)
    ]
    height = {
        "field": "value",
        "type": "quantitative",
        "title": title,
        "scale": {"zero": False},
    }
    return {
        "data": {"values": rows},
        "mark": {"type": "line", "color": colour, "strokeWidth": 2},
        "encoding": {"x": _x("min"), "y": height},
    }


def _band(stretch_s: tuple[float, float] | None, colour: str) -> Spec:
    if stretch_s is None:
        return {}
    rows = [{"min": stretch_s[0] / 60, "until": stretch_s[1] / 60}]
    return {
        "data": {"values": rows},
        "mark": {"type": "rect", "color": colour, "opacity": 0.6, "stroke": colour},
        "encoding": {"x": _x("min"), "x2": {"field": "until"}},
    }


def _called(cup_c: float | None, colours: Theme) -> list[Spec]:
    if cup_c is None:
        return []
    data = {"values": [{"value": cup_c, "text": f"called {cup_c:g} °C"}]}
    height = {"field": "value", "type": "quantitative"}
    words = {"type": "text", "x": 6, "align": "left", "baseline": "bottom", "dy": -3}
    return [
        {
            "data": data,
            "mark": {"type": "rule", "color": colours.limit, "strokeDash": [8, 4]},
            "encoding": {"y": height},
        },
        {
            "data": data,
            "mark": {**words, "color": colours.limit, "fontSize": 14},
            "encoding": {"y": height, "text": {"field": "text"}},
        },
    ]


def _flash_words(marks: TraceMarks, top_c: float, colours: Theme) -> list[Spec]:
    if marks.flash_s is None:
        return []
    row = {"min": marks.flash_s[0] / 60, "value": top_c, "text": marks.flash_words}
    words = {"type": "text", "align": "right", "dx": -6, "color": colours.flash, "fontSize": 14}
    height = {"field": "value", "type": "quantitative"}
    return [
        {
            "data": {"values": [row]},
            "mark": words,
            "encoding": {"x": _x("min"), "y": height, "text": {"field": "text"}},
        }
    ]
