"""The picture of search strategies beside each other: what each takes, and how often it errs.

Bars are means, a thin line reaches to what 95 % of the samples need, a diamond is what no search
can beat. Screening strategies are named so and drawn hollow: their answers are no method's result.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec

_WIDTH, _ROW = 420, 46
_NAME_LIMIT: Final = 330  # room for a strategy's name, in pixels


@dataclass(frozen=True, slots=True)
class StrategyBar:
    """One strategy as drawn; `words` stands beside its bar."""

    name: str
    is_screening: bool
    mean_specimens: float
    p95_specimens: float
    bound_specimens: float
    words: str


def strategy_chart(bars: Sequence[StrategyBar], *, title: str, theme: ThemeName = "light") -> Spec:
    """Return the Vega-Lite spec of strategies in the order given.

    Raises InputError where there is nothing to draw.
    """
    if not bars:
        raise InputError("nothing-to-draw", "A picture needs at least one strategy.")
    colours = THEMES[theme]
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "usermeta": {"title": title},
        "description": describe_strategies(bars),
        "title": {"text": title, "color": colours.ink, "fontSize": 15, "anchor": "start"},
        "width": _WIDTH,
        "height": _ROW * len(bars),
        "padding": 4,
        "data": {"values": [_value(bar) for bar in bars]},
        "encoding": {
            "y": {
                "field": "name",
                "type": "nominal",
                "sort": None,
                "title": None,
                "axis": {
                    "labelLimit": _NAME_LIMIT,
                    "labelPadding": 6,
                    "ticks": False,
                    "domain": False,
                },
            }
        },
        "layer": _layers(colours),
        "config": configuration(colours),
    }


def describe_strategies(bars: Sequence[StrategyBar]) -> str:
    """Say in words what the picture shows, for those who do not see it."""
    parts = [
        f"{bar.name}: {bar.mean_specimens:.2f} specimens on average, {bar.p95_specimens:.0f} for "
        f"95 %, at least {bar.bound_specimens:.2f} needed by any search; {bar.words}"
        for bar in bars
    ]
    return "Specimens that each strategy takes. " + ". ".join(parts) + "."


def _value(bar: StrategyBar) -> Spec:
    return {
        "name": bar.name,
        "mean": bar.mean_specimens,
        "p95": bar.p95_specimens,
        "bound": bar.bound_specimens,
        "words": bar.words,
        "kind": "screening" if bar.is_screening else "method",
    }


def _layers(colours: Theme) -> list[Spec]:
    whole = {"tickMinStep": 1, "format": "d"}
    specimens = {"type": "quantitative", "title": "specimens", "axis": whole}
    hollow = {"test": "datum.kind === 'screening'", "value": 0.12}
    return [
        {
            "mark": {
                "type": "bar",
                "height": 14,
                "color": colours.no_flash,
                "stroke": colours.no_flash,
                "yOffset": 6,
            },
            "encoding": {
                "x": {**specimens, "field": "mean"},
                "fillOpacity": {"condition": hollow, "value": 0.85},
            },
        },
        {
            "mark": {"type": "rule", "color": colours.ink, "yOffset": 6},
            "encoding": {"x": {**specimens, "field": "mean"}, "x2": {"field": "p95"}},
        },
        {
            "mark": {
                "type": "point",
                "shape": "diamond",
                "filled": True,
                "size": 90,
                "opacity": 1,
                "color": colours.flash,
                "stroke": colours.ink,
                "yOffset": 6,
            },
            "encoding": {"x": {**specimens, "field": "bound"}},
        },
        {
            "mark": {
                "type": "text",
                "align": "left",
                "fontSize": 12,
                "color": colours.ink,
                "yOffset": -10,
                "dx": 4,
            },
            "encoding": {"x": {"datum": 0}, "text": {"field": "words"}},
        },
    ]
