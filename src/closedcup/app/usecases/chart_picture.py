"""Draw what `closedcup chart` answered."""

from typing import Any

from closedcup.reports import ChartedPoint, control_chart, svg


def chart_picture(answer: dict[str, Any]) -> str:
    """Return the SVG of a charted history."""
    return svg(
        control_chart(
            [
                ChartedPoint(
                    point["number"], point["value"], tuple(point["signal"]), point["cause"] or ""
                )
                for point in answer["points"]
            ],
            centre=answer["centre"],
            lower=answer["lower"],
            upper=answer["upper"],
            base=answer["base"],
            title=f"Control chart ({answer['kind']}) of {answer['what']}",
            unit=answer["unit"],
        )
    )
