"""Draw the answers of `line` and `map` as SVG."""

from typing import Any

from closedcup.reports import svg
from closedcup.reports.blend_chart import line_chart, map_chart


def line_picture(answer: dict[str, Any]) -> str:
    """Return the SVG of a line's answer."""
    first, second = (liquid["name"] for liquid in answer["liquids"])
    lowest = answer["minimum"]
    spec = line_chart(
        first,
        second,
        [(point["share"], point["flash_point_c"]) for point in answer["points"]],
        basis=answer["basis"],
        levels_c=answer["levels_c"],
        minimum=None if lowest is None else (lowest["share"], lowest["flash_point_c"]),
    )
    return svg(spec)


def map_picture(answer: dict[str, Any]) -> str:
    """Return the SVG of a map's answer."""
    spec = map_chart(
        [liquid["name"] for liquid in answer["liquids"]],
        {each["level_c"]: each["pieces"] for each in answer["contours"]},
        basis=answer["basis"],
        levels_c=answer["levels_c"],
        points=[
            (point["shares"], point["flash_point_c"], point["liquid_phases"])
            for point in answer["points"]
        ],
    )
    return svg(spec)
