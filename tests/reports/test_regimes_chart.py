"""The picture of the regimes: what it says in words, who owns a limit, and one or two views."""

import pytest

from closedcup.errors import InputError
from closedcup.reports import chart_of_shown, regimes_chart, svg
from closedcup.reports.regimes_chart import ShownResult


def band(classification, severity, low_c, high_c, high_belongs, high_limit):
    return {
        "classification": classification,
        "severity": severity,
        "low_c": low_c,
        "high_c": high_c,
        "high_belongs": high_belongs,
        "high_limit": high_limit,
    }


def shown(value_c=59.8, low_c=58.0, high_c=61.6):
    return {
        "words": "Result 59.8 °C ± 1.8 °C (k = 2)",
        "value_c": value_c,
        "low_c": low_c,
        "high_c": high_c,
        "lines": [
            {
                "name": "OSHA",
                "answer": "Category 3 (59 %)",
                "bands": [
                    band("Category 3", 0.5, None, 60.0, True, "140 °F"),
                    band("Category 4", 0.25, 60.0, None, False, ""),
                ],
            },
            {
                "name": "RCRA",
                "answer": "D001 (59 %)",
                "bands": [
                    band("D001", 1.0, None, 60.0, False, "140 °F"),
                    band("Not D001", 0.0, 60.0, None, False, ""),
                ],
            },
        ],
    }


def test_the_picture_says_itself_in_words_with_each_operator():
    spec = chart_of_shown(shown())
    assert "OSHA, Category 3 (59 %): Category 3 up to 140 °F" in spec["description"]
    assert "D001 below 140 °F" in spec["description"]


def test_the_upper_class_names_its_operator_where_the_result_would_cross_the_words():
    drawing = svg(chart_of_shown(shown()))
    assert "&gt; 140 °F" in drawing  # OSHA: 60 °C itself is Category 3
    assert "≥ 140 °F" in drawing  # RCRA: 60 °C itself is not D001


def test_a_report_has_the_whole_line_alone_and_a_page_both_views():
    assert len(chart_of_shown(shown())["vconcat"]) == 2
    assert len(chart_of_shown(shown(), near=False)["vconcat"]) == 1


def test_a_side_without_a_value_is_drawn_as_its_open_interval():
    assert "Result 59.8" in svg(chart_of_shown(shown(value_c=None, high_c=None)))


def test_there_must_be_a_regime():
    with pytest.raises(InputError, match="at least one regime"):
        regimes_chart([], ShownResult(60.0, None, None, "Result 60 °C"))
