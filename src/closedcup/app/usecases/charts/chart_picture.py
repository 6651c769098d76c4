"""Draw what the metrology commands answered."""

from typing import Any

from closedcup.errors import Refused
from closedcup.reports import (
    ChartedPoint,
    SiteFigures,
    contributions_chart,
    control_chart,
    round_chart,
    svg,
)


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


def spread_picture(answer: dict[str, Any]) -> str:
    """Return the SVG of the chart of spread that belongs to a charted history; "" without one.

    Moving ranges begin at the second point.
    """
    spread = answer["companion"]
    if spread is None:
        return ""
    first = 1 + len(answer["points"]) - len(spread["values"])
    hits = answer["rule_hits"].get(spread["kind"], [])
    return svg(
        control_chart(
            [
                ChartedPoint(number, value, (spread["kind"],) if number in hits else ())
                for number, value in enumerate(spread["values"], start=first)
            ],
            centre=spread["centre"],
            lower=spread["lower"],
            upper=spread["upper"],
            base=answer["base"],
            title=f"Control chart ({spread['kind']})",
            unit=answer["unit"],
        )
    )


def round_picture(answer: dict[str, Any]) -> str:
    """Return the SVG of what `closedcup interlaboratory` answered, limits of most sites."""
    fullest = max(answer["materials"], key=lambda one: len(one["sites"]))
    return svg(
        round_chart(
            [
                SiteFigures(site, one["material"], h, k)
                for one in answer["materials"]
                for site, h, k in zip(
                    one["sites"], one["h"], one["k"] or [None] * len(one["h"]), strict=True
                )
            ],
            h_critical=fullest["h_critical"],
            k_critical=fullest["k_critical"],
        )
    )


def contributions_picture(answer: dict[str, Any]) -> str:
    """Return the SVG of what `closedcup uncertainty` answered."""
    return svg(
        contributions_chart(
            [(one["name"], one["contribution"]) for one in answer["inputs"] if one["contribution"]],
            combined=answer["standard_uncertainty"],
            title=answer["title"],
            unit=answer["unit"],
        )
    )


def scores_picture(answer: dict[str, Any]) -> str:
    """Return the SVG of scores over time: beyond ±2 questionable, beyond ±3 asking for action.

    Refused where there are none.
    """
    results = answer["results"]
    if not results:
        raise Refused(
            "no-rounds",
            "No result of a proficiency round is on record.",
            where="proficiency",
            fix="Record one with: closedcup proficiency-result",
        )
    return svg(
        control_chart(
            [
                ChartedPoint(
                    number,
                    one["score"],
                    () if one["standing"] == "satisfactory" else (one["standing"],),
                )
                for number, one in enumerate(results, start=1)
            ],
            centre=0.0,
            lower=-3.0,
            upper=3.0,
            base=len(results),
            title="Scores in proficiency rounds, oldest first",
            unit="z or z′",
            names=("satisfactory", "questionable or asking for action", "with a cause"),
        )
    )
