"""Work out an uncertainty from below and from above, side by side."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isinf
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from closedcup.app.usecases.uncertainty.budget_file import read_budget
from closedcup.errors import Refused
from closedcup.metrology import (
    Input,
    Model,
    Propagated,
    Simulated,
    propagate,
    reconciled,
    rounded_pair,
    second_order_uncertainty,
    simulate,
)

Answer = dict[str, Any]

COVERAGE: Final = 0.95


@dataclass(frozen=True, slots=True)
class FromAbove:
    """A standard uncertainty seen from above, what it rests on, and its parts in words."""

    uncertainty: float
    degrees_of_freedom: float
    what: str


@dataclass(frozen=True, slots=True)
class Budget:
    """A budget ready to be worked out; `missing` names what is not in it and why."""

    title: str
    unit: str
    formula: str
    model: Model
    inputs: tuple[Input, ...]
    from_above: tuple[FromAbove, ...] = ()
    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    correlation: NDArray[np.float64] | None = None


def budget_of_file(path: str) -> Budget:
    """Return the budget that a TOML file describes."""
    written = read_budget(path)
    above: tuple[FromAbove, ...] = ()
    if written.from_above is not None:
        above = (FromAbove(written.from_above, written.from_above_freedom, "as given in the file"),)
    return Budget(
        title=written.title,
        unit=written.unit,
        formula=written.formula,
        model=written.model,
        inputs=written.inputs,
        from_above=above,
        correlation=written.correlation,
    )


def worked_out(budget: Budget, *, trials: int = 1_000_000, seed: int = 1) -> Answer:
    """Return the object that `closedcup uncertainty` prints.

    Both ways: the law of propagation with effective degrees of freedom, and Monte Carlo. Refused
    where no input has an uncertainty.
    """
    found = propagate(budget.model, budget.inputs, correlation=budget.correlation)
    if found.uncertainty == 0:
        raise Refused(
            "no-uncertainty",
            "No input of the budget has an uncertainty that reaches the result.",
            where="budget",
            fix="Give each input its uncertainty.",
        )
    k, expanded = found.coverage_factor(COVERAGE), found.expanded(COVERAGE)
    drawn = simulate(
        budget.model,
        budget.inputs,
        correlation=budget.correlation,
        trials=trials,
        coverage=COVERAGE,
        seed=seed,
    )
    value_text, expanded_text = rounded_pair(found.estimate, expanded)
    largest = max(budget.from_above, key=lambda one: one.uncertainty, default=None)
    return {
        "title": budget.title,
        "unit": budget.unit,
        "model": budget.formula,
        "inputs": _inputs(budget.inputs, found),
        "estimate": found.estimate,
        "standard_uncertainty": found.uncertainty,
        "degrees_of_freedom": _finite(found.degrees_of_freedom),
        "coverage": COVERAGE,
        "coverage_factor": k,
        "expanded_uncertainty": expanded,
        "text": f"{value_text} ± {expanded_text} {budget.unit}".strip()
        + f" (k = {k:.2f}, about {100 * COVERAGE:.0f} %)",
        "second_order_uncertainty": None
        if budget.correlation is not None
        else second_order_uncertainty(budget.model, budget.inputs),
        "correlations": _correlations(budget),
        "monte_carlo": _monte_carlo(found, expanded, drawn),
        "from_above": [
            {
                "what": one.what,
                "standard_uncertainty": one.uncertainty,
                "degrees_of_freedom": _finite(one.degrees_of_freedom),
                "reconciled": reconciled(
                    found.uncertainty,
                    found.degrees_of_freedom,
                    one.uncertainty,
                    one.degrees_of_freedom,
                ),
            }
            for one in budget.from_above
        ],
        "claimed_standard_uncertainty": max(
            found.uncertainty, 0.0 if largest is None else largest.uncertainty
        ),
        "interval_text": _interval_text(drawn),
        "missing": list(budget.missing),
        "notes": list(budget.notes),
    }


def _correlations(budget: Budget) -> list[Answer]:
    names, matrix = [one.name for one in budget.inputs], budget.correlation
    if matrix is None:
        return []
    return [
        {"between": [names[i], names[j]], "coefficient": float(matrix[i, j])}
        for i, j in np.argwhere(np.triu(matrix, 1)).tolist()
    ]


def _finite(value: float) -> float | None:
    """Return None for infinite degrees of freedom: JSON has no word for them."""
    return None if isinf(value) else value


def _inputs(inputs: Sequence[Input], found: Propagated) -> list[Answer]:
    return [
        {
            "name": one.name,
            "estimate": one.estimate,
            "standard_uncertainty": one.uncertainty,
            "distribution": one.distribution,
            "degrees_of_freedom": _finite(one.degrees_of_freedom),
            "sensitivity": float(sensitivity),
            "contribution": float(contribution),
            "share": float(share),
        }
        for one, sensitivity, contribution, share in zip(
            inputs, found.sensitivities, found.contributions, found.shares, strict=True
        )
    ]


def _interval_text(drawn: Simulated) -> str:
    """Write the symmetric interval to the place that the standard uncertainty's digits reach."""
    low, high = (rounded_pair(end, drawn.uncertainty)[0] for end in drawn.symmetric)
    return f"{low} to {high}"


def _monte_carlo(found: Propagated, expanded: float, drawn: Simulated) -> Answer:
    """Return the simulation, and whether the two ways agree to the second digit of u.

    JCGM 101, 8: the ends of y ± U against those of the symmetric interval, within half a unit of
    the second digit of the standard uncertainty.
    """
    _, digits = rounded_pair(found.estimate, found.uncertainty)
    decimals = len(digits.partition(".")[2])
    tolerance = 0.5 * 10.0**-decimals if decimals else 0.5 * 10.0 ** (len(digits) - 2)
    low, high = drawn.symmetric
    apart = max(abs(found.estimate - expanded - low), abs(found.estimate + expanded - high))
    return {
        "mean": drawn.mean,
        "standard_uncertainty": drawn.uncertainty,
        "interval": [low, high],
        "shortest_interval": list(drawn.shortest),
        "trials": drawn.trials,
        "seed": drawn.seed,
        "ends_apart": apart,
        "tolerance": tolerance,
        "agrees": apart <= tolerance,
    }
