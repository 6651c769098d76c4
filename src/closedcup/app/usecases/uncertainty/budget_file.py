"""Read a budget from a TOML file.

title = "Flash point of S-12"
unit = "°C"
model = "cup + probe + slope * (101.3 - pressure)"    # the sum of all inputs unless given

[[input]]
name = "cup"
estimate = 60.5
half_width = 0.25            # or uncertainty, or expanded with coverage_factor
distribution = "rectangular" # of a half-width; also triangular, arcsine
degrees_of_freedom = 9       # infinite unless given

[[correlation]]              # where two inputs have something in common
between = ["probe", "reference"]
coefficient = 0.6
"""

import tomllib
from dataclasses import dataclass
from math import inf
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from closedcup.app.usecases.uncertainty.formula import parse_formula
from closedcup.errors import InputError
from closedcup.metrology import Input, Model, within


@dataclass(frozen=True, slots=True)
class BudgetFile:
    """A budget as written: its inputs, the model, and the uncertainty seen from above if given."""

    title: str
    unit: str
    formula: str
    model: Model
    inputs: tuple[Input, ...]
    from_above: float | None
    from_above_freedom: float
    correlation: NDArray[np.float64] | None = None


def read_budget(path: str) -> BudgetFile:
    """Read a budget; InputError that names the place for anything missing or contradictory."""
    try:
        content = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise InputError("file-missing", f"There is no file {path}.", where=path) from None
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
        raise InputError(
            "file-unreadable", f"{path} is not TOML: {problem}.", where=path
        ) from problem
    tables = content.get("input")
    if not isinstance(tables, list) or not tables:
        raise InputError(
            "inputs-missing",
            "The budget has no inputs.",
            where=path,
            fix="Write a table [[input]] for each, with name, estimate and uncertainty.",
        )
    inputs = tuple(_input(table, number) for number, table in enumerate(tables, start=1))
    names = [one.name for one in inputs]
    if len(set(names)) < len(names):
        raise InputError("input-twice", "Two inputs have the same name.", where=path)
    formula = str(content.get("model", " + ".join(names)))
    summed = "model" not in content
    above = content.get("from_above")
    return BudgetFile(
        title=str(content.get("title", Path(path).stem)),
        unit=str(content.get("unit", "")),
        formula=formula,
        model=_sum if summed else parse_formula(formula, names),
        inputs=inputs,
        from_above=None if above is None else _number({"from_above": above}, "from_above", path),
        from_above_freedom=_freedom(content, "from_above_degrees_of_freedom", path),
        correlation=_correlation(content.get("correlation"), names, path),
    )


def _correlation(tables: Any, names: list[str], path: str) -> NDArray[np.float64] | None:
    """Return the matrix that the tables [[correlation]] describe; None where there are none."""
    if tables is None:
        return None
    if not isinstance(tables, list):
        raise InputError(
            "correlation", "correlation is no list of tables.", where=path, fix="[[correlation]]"
        )
    matrix = np.eye(len(names))
    for number, table in enumerate(tables, start=1):
        where = f"correlation {number}"
        pair = table.get("between")
        known = isinstance(pair, list) and len(set(map(str, pair))) == 2 == len(pair)
        if not known or any(name not in names for name in pair):
            raise InputError(
                "correlation",
                f"between = {pair!r} does not name two inputs of the budget.",
                where=where,
                fix=f"Inputs: {', '.join(names)}.",
            )
        coefficient = _number(table, "coefficient", where)
        one, other = (names.index(name) for name in pair)
        if not -1 <= coefficient <= 1 or matrix[one, other]:
            raise InputError(
                "correlation",
                f"{pair[0]} and {pair[1]}: a coefficient lies from -1 to 1 and stands once.",
                where=where,
            )
        matrix[one, other] = matrix[other, one] = coefficient
    return matrix


def _sum(inputs: Any) -> Any:
    return np.sum(inputs, axis=0)


def _input(table: dict[str, Any], number: int) -> Input:
    name = str(table.get("name", "")).strip()
    where = f"input {name or number}"
    if not name:
        raise InputError("name-missing", f"Input {number} has no name.", where=where)
    estimate = _number(table, "estimate", where) if "estimate" in table else 0.0
    freedom = _freedom(table, "degrees_of_freedom", where)
    given = [key for key in ("uncertainty", "expanded", "half_width") if key in table]
    if len(given) != 1:
        raise InputError(
            "uncertainty-unclear",
            f"{name} has {'no' if not given else ' and '.join(given)} uncertainty"
            + (" given." if not given else "."),
            where=where,
            fix="Give one of: uncertainty (standard), expanded with coverage_factor, half_width.",
        )
    if given == ["half_width"]:
        shape = table.get("distribution", "rectangular")
        return within(name, estimate, _number(table, "half_width", where), shape, freedom)
    uncertainty = _number(table, given[0], where)
    if given == ["expanded"]:
        uncertainty /= _number(table, "coverage_factor", where)
    return Input(name, estimate, uncertainty, table.get("distribution", "normal"), freedom)


def _freedom(table: dict[str, Any], key: str, where: str) -> float:
    return _number(table, key, where) if key in table else inf


def _number(table: dict[str, Any], key: str, where: str) -> float:
    value = table.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(
            "not-a-number",
            f"{key} is missing." if value is None else f"{key} = {value!r} is not a number.",
            where=where,
            fix="Write a number without a unit; the budget's unit holds for all.",
        )
    return float(value)
