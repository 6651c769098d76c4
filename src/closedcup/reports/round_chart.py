"""The picture of a round among sites: Mandel's h and k of each site, material by material.

Each material has its own shape; broken lines are the critical values. A bar beyond them asks for
a cause, nothing more.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec

_WIDTH, _HEIGHT = 640, 190
_SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down")


@dataclass(frozen=True, slots=True)
class SiteFigures:
    """Mandel's h and k of one site for one material; k is None without repeats."""

    site: str
    material: str
    h: float
    k: float | None


def round_chart(
    figures: Sequence[SiteFigures],
    *,
    h_critical: float,
    k_critical: float | None,
    theme: ThemeName = "light",
) -> Spec:
    """Return the Vega-Lite spec of h above k; critical values are those of most sites.

    Raises InputError for a round without results.
    """
    if not figures:
        raise InputError("nothing-to-draw", "A round needs results.", where="round")
    colours = THEMES[theme]
    panels = [_panel(figures, "h", "h, between sites", [-h_critical, h_critical], colours)]
    if k_critical is not None:
        panels.append(_panel(figures, "k", "k, within sites", [k_critical], colours))
    beyond = [
        f"{one.site} {one.material}"
        for one in figures
        if abs(one.h) > h_critical or (k_critical is not None and (one.k or 0.0) > k_critical)
    ]
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "usermeta": {"title": "Consistency of a round among sites"},
        "description": (
            f"h and k of {len({one.site for one in figures})} sites. Beyond the critical values: "
            f"{', '.join(beyond) or 'none'}."
        ),
        "vconcat": panels,
        "padding": 4,
        "config": configuration(colours),
    }


def _panel(
    figures: Sequence[SiteFigures], which: str, title: str, criticals: list[float], colours: Theme
) -> Spec:
    rows = [
        {"site": one.site, "material": one.material, "value": value}
        for one in figures
        if (value := getattr(one, which)) is not None
    ]
    materials = list(dict.fromkeys(one.material for one in figures))
    height: Spec = {"field": "value", "type": "quantitative", "title": title}
    return {
        "width": _WIDTH,
        "height": _HEIGHT,
        "layer": [
            {
                "data": {"values": [{"value": value} for value in (*criticals, 0.0)]},
                "mark": {"type": "rule", "color": colours.limit, "strokeDash": [8, 4]},
                "encoding": {"y": height},
            },
            {
                "data": {"values": rows},
                "mark": {
                    "type": "point",
                    "size": 90,
                    "opacity": 1,
                    "stroke": colours.no_flash,
                    "strokeWidth": 2,
                },
                "encoding": {
                    "x": {"field": "site", "type": "nominal", "sort": None, "title": "site"},
                    "xOffset": {"field": "material", "type": "nominal", "sort": None},
                    "y": height,
                    "shape": {
                        "field": "material",
                        "type": "nominal",
                        "sort": None,
                        "title": None,
                        "scale": {
                            "domain": materials,
                            "range": [_SHAPES[at % len(_SHAPES)] for at in range(len(materials))],
                        },
                    },
                },
            },
        ],
    }
