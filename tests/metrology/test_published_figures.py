"""The table of published figures says truly what is compared."""

from pathlib import Path

import pytest

from closedcup.app.validation import (
    certified,
    charts,
    conformity,
    interlaboratory,
    metrology,
    planning,
    quantities,
    traces,
    uncertainty,
    whole_tables,
)

_PAGE = Path(__file__).parents[2] / "docs" / "decisions" / "published-figures.md"
_ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in _PAGE.read_text(encoding="utf-8").splitlines()
    if line.startswith("| ") and not line.startswith("| Example")
]


_PARTS = (
    certified,
    charts,
    conformity,
    interlaboratory,
    metrology,
    planning,
    quantities,
    traces,
    uncertainty,
    whole_tables,
)


@pytest.fixture(scope="module")
def compared():
    return [each for part in _PARTS for each in part.comparisons()]


@pytest.mark.parametrize(("example", "called", "figures", "why"), _ROWS)
def test_each_example_is_compared_or_said_why_not(example, called, figures, why, compared):
    if called == "–":
        assert why, example
        return
    names = [each.quantity for each in compared]
    beginnings = tuple(part.strip() for part in called.split(";"))
    for beginning in beginnings:
        assert any(one.startswith(beginning) for one in names), beginning
    assert int(figures) == sum(one.startswith(beginnings) for one in names)


def test_no_figure_of_the_statistics_is_outside_the_table(compared):
    known = tuple(
        part.strip() for _, called, _, _ in _ROWS for part in called.split(";") if called != "–"
    )
    statistics = [
        each.quantity
        for each in compared
        if each.function.startswith("metrology.") and not each.quantity.startswith(known)
    ]
    assert [one for one in statistics if not one.startswith(_ELSEWHERE)] == []


_ELSEWHERE = ("rounded:", "Nile", "means of", "critical range", "n-", "p-xylene", "trace")
"""Made for this program, or of its own tables of methods and traces."""
