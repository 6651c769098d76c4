"""Every comparison with an independent figure, as a test of its own; and none left out."""

import pytest

from closedcup.app.validation import PRINTED, Comparison, all_comparisons

COMPARISONS = all_comparisons()


@pytest.mark.parametrize(
    "comparison",
    [
        pytest.param(
            each,
            id=f"{each.function}: {each.quantity}",
            marks=pytest.mark.outside(source=each.source, known=each.known),
        )
        for each in COMPARISONS
    ],
)
def test_agrees_with_the_outside_source(comparison: Comparison):
    assert comparison.within, f"{comparison.computed} against {comparison.published}"


@pytest.mark.parametrize("function", PRINTED)
def test_every_function_behind_a_printed_number_is_compared(function: str):
    assert function in {comparison.function for comparison in COMPARISONS}


def test_every_comparison_names_a_function_that_exists():
    import importlib

    for name in {comparison.function for comparison in COMPARISONS}:
        module, _, function = f"closedcup.{name}".rpartition(".")
        assert callable(getattr(importlib.import_module(module), function)), name
