"""The picture of an uncertainty budget: one bar for each input, the largest on top."""

from collections.abc import Sequence

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec

_WIDTH, _ROW = 420, 30


def contributions_chart(
    contributions: Sequence[tuple[str, float]],
    *,
    combined: float,
    title: str,
    unit: str,
    theme: ThemeName = "light",
) -> Spec:
    """Return the Vega-Lite spec of |cᵢ uᵢ| of each input beside the combined uncertainty.

    contributions: (name, cᵢ uᵢ). Raises InputError where there are none.
    """
    if not contributions:
        raise InputError("nothing-to-draw", "A budget needs inputs.", where="budget")
    colours = THEMES[theme]
    ordered = sorted(contributions, key=lambda one: -abs(one[1]))
    rows = [
        {"name": name, "size": abs(size), "label": f"{abs(size):.3g}", "kind": "input"}
        for name, size in ordered
    ]
    rows.append(
        {"name": "combined", "size": combined, "label": f"{combined:.3g}", "kind": "combined"}
    )
    largest = max(combined, abs(ordered[0][1]))
    axis_title = f"standard uncertainty, {unit}" if unit else "standard uncertainty"
    place = _place(axis_title, largest)
    said = "; ".join(f"{row['name']} {row['label']} {unit}".strip() for row in rows)
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "usermeta": {"title": f"Contributions to the uncertainty: {title}"},
        "description": f"{said}.",
        "width": _WIDTH,
        "height": _ROW * len(rows),
        "padding": 4,
        "layer": [_bars(place, colours), _figures(place, colours)],
        "data": {"values": rows},
        "config": configuration(colours),
    }


def _place(axis_title: str, largest: float) -> Spec:
    """Return where a bar lies and how long it is; the longest leaves room for its label."""
    return {
        "y": {
            "field": "name",
            "type": "nominal",
            "sort": None,
            "title": None,
            "axis": {"labelLimit": 260},
        },
        "x": {
            "field": "size",
            "type": "quantitative",
            "title": axis_title,
            "scale": {"domain": [0, 1.15 * largest], "nice": False},
        },
    }


def _bars(place: Spec, colours: Theme) -> Spec:
    kind = {"domain": ["input", "combined"], "range": [colours.no_flash, colours.ink]}
    colour = {"field": "kind", "type": "nominal", "legend": None, "scale": kind}
    return {
        "mark": {"type": "bar", "height": 16},
        "encoding": {**place, "color": colour},
    }


def _figures(place: Spec, colours: Theme) -> Spec:
    mark = {"type": "text", "align": "left", "dx": 5, "fontSize": 13, "color": colours.ink}
    return {"mark": mark, "encoding": {**place, "text": {"field": "label"}}}
