"""Draw what `closedcup diagnose` answered."""

from typing import Any

from closedcup.app.usecases.diagnosis.diagnosis_words import IN_ORDER
from closedcup.reports.diagnosis_chart import DiagnosedPoint, diagnosis_chart
from closedcup.reports.drawing import svg


def diagnosis_picture(answer: dict[str, Any]) -> str:
    """Return the SVG of the differences and of what the first cause does to them."""
    return svg(
        diagnosis_chart(
            [
                DiagnosedPoint(point["quantity"], point["difference_c"], point["fitted_c"])
                for point in answer["points"]
            ],
            cause=answer["causes"][0]["cause"],
            quantity=answer["quantity"],
            in_steps=answer["quantity"] == IN_ORDER,
        )
    )
