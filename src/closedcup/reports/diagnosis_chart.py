"""The picture of a diagnosis: differences from reference values beside what the first cause does.

Drawn against what the cause goes by (temperature, pressure, heating rate, days since calibration)
or, for steps, against the order of time. The effect is a line; results are points.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec

_WIDTH, _HEIGHT = 720, 280
_KINDS: Final = ("result", "effect of the cause")


@dataclass(frozen=True, slots=True)
class DiagnosedPoint:
    """One result: where it is drawn, its difference and the effect of the cause on it, in °C."""

    quantity: float
    difference_c: float
    fitted_c: float


def diagnosis_chart(
    points: Sequence[DiagnosedPoint],
    *,
    cause: str,
    quantity: str,
    in_steps: bool = False,
    theme: ThemeName = "light",
) -> Spec:
    """Return the Vega-Lite spec; InputError where there is nothing to draw.

    in_steps: the effect jumps from one point to the next and does not change in between.
    """
    if not points:
        raise InputError("nothing-to-draw", "A chart needs at least one point.", where="points")
    colours = THEMES[theme]
    rows = [
        {
            "quantity": point.quantity,
            "difference": point.difference_c,
            "fitted": point.fitted_c,
            "shown": _KINDS[0],
        }
        for point in sorted(points, key=lambda one: one.quantity)
    ]
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "usermeta": {"title": f"Differences from the reference value and {cause}"},
        "description": describe_diagnosis(points, cause, quantity),
        "width": _WIDTH,
        "height": _HEIGHT,
        "padding": 4,
        "layer": [
            _zero(colours),
            *_layers(rows, quantity, colours, "step" if in_steps else "linear"),
        ],
        "config": configuration(colours),
    }


def describe_diagnosis(points: Sequence[DiagnosedPoint], cause: str, quantity: str) -> str:
    """Say in words what the picture shows, for those who do not see it."""
    differences = [point.difference_c for point in points]
    effects = [point.fitted_c for point in points]
    return (
        f"{len(points)} differences from the reference value against {quantity}, from "
        f"{min(differences):+.2f} to {max(differences):+.2f} °C. The effect of {cause} is "
        f"{min(effects):+.2f} to {max(effects):+.2f} °C."
    )


def _zero(colours: Theme) -> Spec:
    return {
        "data": {"values": [{"value": 0}]},
        "mark": {"type": "rule", "color": colours.faint, "strokeDash": [2, 3]},
        "encoding": {"y": {"field": "value", "type": "quantitative"}},
    }


def _layers(rows: list[Spec], quantity: str, colours: Theme, interpolate: str) -> list[Spec]:
    across: Spec = {
        "field": "quantity",
        "type": "quantitative",
        "title": quantity,
        "scale": {"zero": False, "padding": 14},
    }
    title = "difference, °C"
    looks = {
        "shape": ("circle", "triangle-up"),
        "fill": ("transparent", colours.flash),
        "stroke": (colours.no_flash, colours.flash),
    }
    channels = {
        channel: {
            "field": "shown",
            "type": "nominal",
            "title": None,
            "scale": {"domain": list(_KINDS), "range": list(values)},
        }
        for channel, values in looks.items()
    }
    effects = [{**row, "difference": row["fitted"], "shown": _KINDS[1]} for row in rows]
    height = {
        "field": "difference",
        "type": "quantitative",
        "title": title,
        "scale": {"zero": False, "padding": 12},
    }
    return [
        {
            "data": {"values": effects},
            "mark": {
                "type": "line",
                "color": colours.flash,
                "strokeWidth": 1.5,
                "interpolate": interpolate,
            },
            "encoding": {"x": across, "y": height},
        },
        {
            "data": {"values": rows + effects},
            "mark": {"type": "point", "size": 70, "opacity": 1},
            "encoding": {"x": across, "y": height, **channels},
        },
    ]
