"""The lower flammable limit of a liquid's vapour in air at 25 °C: on record, or else estimated.

Three tables hold some three hundred limits. For the other liquids two published forms stand in;
how far each lies from the limits on record, by class of liquid, was measured by
`tools/build_liquids.py` and is shown with the estimate.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from closedcup.mixtures.liquids import Liquid
from closedcup.mixtures.pure_estimates import atoms, error_row, stoichiometric_percent
from closedcup.mixtures.tables import bibliography, cite, data_file
from closedcup.sources import Known, load_rows

ON_RECORD: Final = "on record"


@dataclass(frozen=True, slots=True)
class LowerLimit:
    """A lower flammable limit at 25 °C in % by volume, and how sure it is.

    `factor_95` times the limit, and the limit over it, hold 95 % of the `liquids` limits on record
    of the class `measured_on`; it is 1 for a limit on record, whose error nobody states.
    """

    percent: float
    form: str
    factor_95: float
    liquids: int
    measured_on: str
    source: str
    known: Known

    @property
    def is_estimated(self) -> bool:
        """Whether no table has it."""
        return self.form != ON_RECORD

    def as_json(self) -> dict[str, object]:
        """Return the object that programs read."""
        return {
            "percent": round(self.percent, 3),
            "form": self.form,
            "factor_95": self.factor_95,
            "liquids": self.liquids,
            "measured_on": self.measured_on,
            "source": self.source,
            "known": self.known,
        }


def half_stoichiometric(liquid: Liquid) -> float | None:
    """Return 0.55 of the stoichiometric mixture in % (Jones, 1938), for C, H, N, O and S."""
    stoichiometric = stoichiometric_percent(atoms(liquid.formula))
    return None if stoichiometric is None else 0.55 * stoichiometric


def suzuki(liquid: Liquid) -> float | None:
    """Return the limit in % by Suzuki (1994), from the heat of combustion.

    −3.42/h + 0.569 h + 0.0538 h² + 1.80 with h the (negative) heat in 1000 kJ/mol. It passes its
    lowest value near 6.2, and is not used beyond 6 (our judgement).
    """
    heat = liquid.properties.get("heat_of_combustion_25c_kj_mol")
    if heat is None or not 0.3 <= heat.value / 1000 <= 6:
        return None
    h = -heat.value / 1000
    return -3.42 / h + 0.569 * h + 0.0538 * h**2 + 1.80


FORMS: Final[Mapping[str, Callable[[Liquid], float | None]]] = {
    "0.55 stoichiometric": half_stoichiometric,
    "Suzuki": suzuki,
}
_SOURCES: Final[Mapping[str, tuple[str, Known]]] = {
    "0.55 stoichiometric": ("jones-1938", "memory"),
    "Suzuki": ("suzuki-1994", "package"),
}


def lower_limit(liquid: Liquid) -> LowerLimit | None:
    """Return the limit on record, else the best estimate; None where nothing gives one."""
    recorded = liquid.properties.get("lfl_percent")
    if recorded is None:
        return estimated_limit(liquid)
    source = cite(recorded.source)
    return LowerLimit(recorded.value, ON_RECORD, 1.0, 0, "", source, recorded.known)


def estimated_limit(liquid: Liquid) -> LowerLimit | None:
    """Return the valid estimate with the smallest measured error for the class of the liquid."""
    if liquid.role != "flammable":
        return None
    found = [
        made
        for form, function in FORMS.items()
        if (percent := function(liquid)) is not None
        and (made := _with_error(form, percent, liquid.chemical_class)) is not None
    ]
    return min(found, key=lambda made: made.factor_95, default=None)


def _with_error(form: str, percent: float, chemical_class: str) -> LowerLimit | None:
    row = error_row(limit_errors(), form, chemical_class)
    if row is None:
        return None
    source, known = _SOURCES[form]
    factor, count = float(row["factor_95"]), int(row["liquids"])
    return LowerLimit(percent, form, factor, count, row["class"], cite(source), known)


@cache
def limit_errors() -> Mapping[tuple[str, str], dict[str, str]]:
    """Return the measured error of each form by class of liquid."""
    rows = load_rows(data_file("flammable_limit_errors.csv"), bibliography())
    return {(row["form"], row["class"]): row for row in rows}


def limit_at_percent(limit_25c_percent: float, temperature_c: float) -> float:
    """Return the limit at a temperature: it falls to nil at 1300 °C (Burgess and Wheeler)."""
    return limit_25c_percent * (1 - 7.84e-4 * (temperature_c - 25))


def distance(estimated_percent: float, recorded_percent: float) -> float:
    """Return by what factor two limits differ, one or more."""
    return math.exp(abs(math.log(estimated_percent / recorded_percent)))
