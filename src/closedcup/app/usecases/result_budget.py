"""The uncertainty budget of a result, from what is on record for it.

What is neither on record nor given is not invented: it is listed as missing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt
from typing import Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.comma_separated import decimal_in, read_rows
from closedcup.app.usecases.formula import parse_formula
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.uncertainty import Budget, FromAbove
from closedcup.errors import Refused
from closedcup.laboratory import Result, Verification
from closedcup.methods.barometer import barometer_numbers
from closedcup.metrology import (
    Input,
    Line,
    fit_line,
    from_reproducibility,
    from_verifications,
    within,
)
from closedcup.records.ledger import Ledger

_TWO_RESULTS: Final = 2.772  # 1.96 √2: the 95 % difference of two results, in standard deviations
_LEAST_VERIFICATIONS: Final = 5
_COUNTED_TWICE: Final = (
    "The published repeatability already holds some of the step and the volume; they are counted "
    "beside it, on the safe side."
)


@dataclass(frozen=True, slots=True)
class Given:
    """Standard uncertainties that the records do not hold, in °C (kPa, °C/kPa); None: not known.

    `barometer_kpa` and `slope_c_per_kpa` are half-widths. `probe_calibration` is a line of the
    probe's correction against its reading; it gives the probe's uncertainty at the reading.
    """

    probe_c: float | None = None
    probe_calibration: Line | None = None
    barometer_kpa: float | None = None
    slope_c_per_kpa: float | None = None
    operator_c: float | None = None
    volume_c: float | None = None


def budget_of_result(opened: OpenLaboratory, result_id: str, given: Given) -> Budget:
    """Return the budget of a finite result on record. Refused for a result without a number."""
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    if result.kind != "flash point" or result.observed_cup_c is None:
        raise Refused(
            "not-finite",
            f"Result {result_id} is no finite flash point: {result.statement}.",
            where=f"result {result_id}",
            fix="A budget needs a finite result.",
        )
    numbers = barometer_numbers()
    slope = float(numbers.correction_per_kpa.value)
    standard = float(numbers.standard_pressure.value)
    missing: list[str] = []
    if given.slope_c_per_kpa is None:
        missing.append("correction slope: no uncertainty given")
    inputs = [
        Input("cup", float(result.observed_cup_c), 0.0),
        _barometer(result, given),
        within("slope", slope, given.slope_c_per_kpa or 0.0),
        *_probe(result, given, missing),
        *_step(result, missing),
        *_repeatability(result, missing),
        *_reference(ledger, result, missing),
        *_effect("operator", "between operators", given.operator_c, missing),
        *_effect("volume", "specimen volume", given.volume_c, missing),
    ]
    names = [one.name for one in inputs]
    extra = "".join(f" + {name}" for name in names if name not in {"cup", "pressure", "slope"})
    formula = f"cup + slope * ({standard:g} - pressure){extra}"
    return Budget(
        title=f"Flash point of result {result_id}, corrected",
        unit="°C",
        formula=formula,
        model=parse_formula(formula, names),
        inputs=tuple(inputs),
        from_above=_from_above(ledger, result),
        missing=tuple(missing),
        notes=(_COUNTED_TWICE,),
    )


def calibration_from_file(path: str) -> Line:
    """Fit the probe's correction against its reading: CSV with reading_c and correction_c."""
    rows = list(enumerate(read_rows(path), start=1))
    return fit_line(
        [float(decimal_in(row, "reading_c", line=line)) for line, row in rows],
        [float(decimal_in(row, "correction_c", line=line)) for line, row in rows],
    )


def _probe(result: Result, given: Given, missing: list[str]) -> list[Input]:
    correction = result.probe_correction_c
    if correction is None:
        missing.append("probe calibration: no correction on record")
    if given.probe_calibration is not None:
        return [_calibrated(given.probe_calibration, float(result.observed_cup_c or 0), correction)]
    if given.probe_c is None:
        missing.append("probe calibration: no uncertainty given")
        if correction is None:
            return []
    return [Input("probe", correction or 0.0, given.probe_c or 0.0)]


def _calibrated(line: Line, cup_c: float, correction_c: float | None) -> Input:
    """Return the probe's input with the line's uncertainty at the reading, inside its range only.

    The correction stays the one that the result was made with.
    """
    if not line.lowest <= cup_c <= line.highest:
        raise Refused(
            "outside-calibration",
            f"The calibration covers {line.lowest:g} to {line.highest:g} °C; the cup showed "
            f"{cup_c:g} °C.",
            where="probe calibration",
            fix="Calibrate on both sides of the reading.",
        )
    _, u = line.predict(cup_c)
    return Input("probe", correction_c or 0.0, u, degrees_of_freedom=line.degrees_of_freedom)


def _barometer(result: Result, given: Given) -> Input:
    accuracy = barometer_numbers().barometer_accuracy
    half = float(accuracy.value) if given.barometer_kpa is None else given.barometer_kpa
    return within("pressure", result.pressure_kpa, half)


def _step(result: Result, missing: list[str]) -> list[Input]:
    low, high = result.low_corrected_c, result.high_corrected_c
    if low is None or high is None or not low < high:
        missing.append("step of the search: no bracket on record")
        return []
    return [within("step", 0.0, (high - low) / 2)]


def _repeatability(result: Result, missing: list[str]) -> list[Input]:
    if result.repeatability_c is None:
        missing.append(f"repeatability: {result.precision_note or 'not stated'}")
        return []
    return [Input("repeatability", 0.0, result.repeatability_c / _TWO_RESULTS)]


def _reference(ledger: Ledger, result: Result, missing: list[str]) -> list[Input]:
    made = _verifications(ledger, result)
    certificate = None if not made else ledger.materials[made[-1].material].expanded_uncertainty_c
    if certificate is None:
        missing.append("reference material: no certificate uncertainty on record")
        return []
    return [Input("reference", 0.0, float(certificate) / 2)]  # certificates state k = 2


def _effect(name: str, what: str, uncertainty_c: float | None, missing: list[str]) -> list[Input]:
    if uncertainty_c is None:
        missing.append(f"{what}: nothing on record or given")
        return []
    return [Input(name, 0.0, uncertainty_c)]


def _verifications(ledger: Ledger, result: Result) -> Sequence[Verification]:
    apparatus = ledger.series[result.series].apparatus
    return ledger.verifications_for(apparatus, ledger.tests[result.test].method)


def _from_above(ledger: Ledger, result: Result) -> tuple[FromAbove, ...]:
    """Return what R says, and what the apparatus's verifications say where there are enough."""
    seen = []
    if result.reproducibility_c is not None:
        seen.append(
            FromAbove(
                from_reproducibility(result.reproducibility_c),
                inf,
                f"the method's R = {result.reproducibility_c:.2f} °C over 2.772; it also holds "
                "what differs between sites",
            )
        )
    made = _verifications(ledger, result)
    if len(made) >= _LEAST_VERIFICATIONS:
        certificates = [
            float(ledger.materials[each.material].expanded_uncertainty_c or 0) / 2 for each in made
        ]
        found = from_verifications(
            [each.difference_c for each in made],
            reference_uncertainty=sqrt(sum(u**2 for u in certificates) / len(certificates)),
        )
        seen.append(
            FromAbove(
                found.uncertainty,
                found.degrees_of_freedom,
                f"{found.n} verifications: s {found.within_site:.2f} °C, mean difference "
                f"{found.bias:+.2f} °C, reference {found.reference:.2f} °C",
            )
        )
    return tuple(seen)
