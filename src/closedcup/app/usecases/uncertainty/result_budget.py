"""The uncertainty budget of a result, from what is on record for it.

What is neither on record nor given is not invented: it is listed as missing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.comma_separated import decimal_in, read_rows
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.uncertainty.formula import parse_formula
from closedcup.app.usecases.uncertainty.seen_from_above import seen_from_above, verifications_for
from closedcup.app.usecases.uncertainty.uncertainty import Budget
from closedcup.errors import Refused
from closedcup.laboratory import Result
from closedcup.laboratory.stated_uncertainty import StatedUncertainty
from closedcup.methods.barometer import barometer_numbers
from closedcup.metrology import Input, Line, between_groups, fit_line, within
from closedcup.records.ledger import Ledger

_TWO_RESULTS: Final = 2.772  # 1.96 √2: the 95 % difference of two results, in standard deviations
_COUNTED_TWICE: Final = (
    "The published repeatability already holds some of the step and the volume; they are counted "
    "beside it, on the safe side."
)


@dataclass(frozen=True, slots=True)
class Given:
    """Uncertainties given for this budget only, in place of those on record; None: not given.

    In °C (kPa, °C/kPa). `barometer_kpa` and `slope_c_per_kpa` are half-widths, the others standard
    uncertainties. `probe_calibration` is a line of the probe's correction against its reading; it
    gives the probe's uncertainty at the reading.
    """

    probe_c: float | None = None
    probe_calibration: Line | None = None
    barometer_kpa: float | None = None
    slope_c_per_kpa: float | None = None
    operator_c: float | None = None
    volume_c: float | None = None


class _Collected:
    """The inputs of one budget as they are found, with what is missing and what is worth saying."""

    def __init__(self, ledger: Ledger, result: Result) -> None:
        self.ledger = ledger
        self.result = result
        self.inputs: list[Input] = []
        self.missing: list[str] = []
        self.notes: list[str] = [_COUNTED_TWICE]

    def on_record(self, source: str) -> StatedUncertainty | None:
        """Return the uncertainty stated of a source: the apparatus's own, else the common one."""
        stated = self.ledger.stated_uncertainties
        apparatus = self.ledger.series[self.result.series].apparatus
        return stated.get((source, apparatus)) or stated.get((source, ""))

    def take(self, name: str, estimate: float, stated: StatedUncertainty) -> None:
        """Take an input as stated on record, and say what it rests on."""
        value = float(stated.value)
        self.inputs.append(
            within(name, estimate, value, degrees_of_freedom=stated.freedom)
            if stated.shape == "half-width"
            else Input(name, estimate, value, degrees_of_freedom=stated.freedom)
        )
        self.notes.append(f"{name}: {stated.basis} (on record since {stated.stated_at[:10]})")


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
    found = _Collected(ledger, result)
    found.inputs.append(Input("cup", float(result.observed_cup_c), 0.0))
    _barometer(found, given)
    _slope(found, given)
    _probe(found, given)
    _step(found)
    _repeatability(found)
    _reference(found)
    _operator(found, given)
    _volume(found, given)
    names = [one.name for one in found.inputs]
    extra = "".join(f" + {name}" for name in names if name not in {"cup", "pressure", "slope"})
    standard = float(barometer_numbers().standard_pressure.value)
    formula = f"cup + slope * ({standard:g} - pressure){extra}"
    return Budget(
        title=f"Flash point of result {result_id}, corrected",
        unit="°C",
        formula=formula,
        model=parse_formula(formula, names),
        inputs=tuple(found.inputs),
        from_above=seen_from_above(ledger, result),
        missing=tuple(found.missing),
        notes=tuple(found.notes),
    )


def calibration_points(path: str) -> tuple[tuple[Decimal, ...], tuple[Decimal, ...]]:
    """Return the readings and corrections of a CSV file with reading_c and correction_c.

    Refused where no line with an uncertainty follows from them.
    """
    rows = list(enumerate(read_rows(path), start=1))
    readings = tuple(decimal_in(row, "reading_c", line=line) for line, row in rows)
    corrections = tuple(decimal_in(row, "correction_c", line=line) for line, row in rows)
    _line(readings, corrections)
    return readings, corrections


def calibration_from_file(path: str) -> Line:
    """Fit the probe's correction against its reading: CSV with reading_c and correction_c."""
    return _line(*calibration_points(path))


def _line(readings: Sequence[Decimal], corrections: Sequence[Decimal]) -> Line:
    return fit_line([float(one) for one in readings], [float(one) for one in corrections])


def _barometer(found: _Collected, given: Given) -> None:
    pressure_kpa = found.result.pressure_kpa
    stated = found.on_record("barometer")
    if given.barometer_kpa is not None:
        found.inputs.append(within("pressure", pressure_kpa, given.barometer_kpa))
    elif stated is not None:
        found.take("pressure", pressure_kpa, stated)
    else:
        accuracy = barometer_numbers().barometer_accuracy
        found.inputs.append(within("pressure", pressure_kpa, float(accuracy.value)))


def _slope(found: _Collected, given: Given) -> None:
    slope = float(barometer_numbers().correction_per_kpa.value)
    stated = found.on_record("slope")
    if given.slope_c_per_kpa is None and stated is not None:
        found.take("slope", slope, stated)
        return
    if given.slope_c_per_kpa is None:
        found.missing.append("correction slope: nothing on record or given")
    found.inputs.append(within("slope", slope, given.slope_c_per_kpa or 0.0))


def _probe(found: _Collected, given: Given) -> None:
    correction = found.result.probe_correction_c
    stated = found.on_record("probe")
    check = found.ledger.probes.get(found.ledger.series[found.result.series].apparatus)
    if correction is None:
        found.missing.append("probe calibration: no correction on record")
    if given.probe_calibration is not None:
        cup_c = float(found.result.observed_cup_c or 0)
        found.inputs.append(_calibrated(given.probe_calibration, cup_c, correction))
    elif given.probe_c is not None:
        found.inputs.append(Input("probe", correction or 0.0, given.probe_c))
    elif stated is not None:
        found.take("probe", correction or 0.0, stated)
    elif check is not None and check.readings_c:
        line = _line(check.readings_c, check.corrections_c)
        cup_c = float(found.result.observed_cup_c or 0)
        found.inputs.append(_calibrated(line, cup_c, correction))
        found.notes.append(
            f"probe: a line through {len(check.readings_c)} calibration points of "
            f"{check.checked_on or 'a day not noted'}, {check.certificate or 'no certificate'}"
        )
    else:
        found.missing.append("probe calibration: no uncertainty on record or given")
        if correction is not None:
            found.inputs.append(Input("probe", correction, 0.0))


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


def _step(found: _Collected) -> None:
    low, high = found.result.low_corrected_c, found.result.high_corrected_c
    if low is None or high is None or not low < high:
        found.missing.append("step of the search: no bracket on record")
    else:
        found.inputs.append(within("step", 0.0, (high - low) / 2))


def _repeatability(found: _Collected) -> None:
    r_c = found.result.repeatability_c
    if r_c is None:
        found.missing.append(f"repeatability: {found.result.precision_note or 'not stated'}")
    else:
        found.inputs.append(Input("repeatability", 0.0, r_c / _TWO_RESULTS))


def _reference(found: _Collected) -> None:
    made = verifications_for(found.ledger, found.result)
    materials = found.ledger.materials
    certificate = None if not made else materials[made[-1].material].expanded_uncertainty_c
    if certificate is None:
        found.missing.append("reference material: no certificate uncertainty on record")
    else:  # certificates state k = 2
        found.inputs.append(Input("reference", 0.0, float(certificate) / 2))


def _operator(found: _Collected, given: Given) -> None:
    """Take the difference between operators as given, as stated, or as verifications show it."""
    stated = found.on_record("operator")
    if given.operator_c is not None:
        found.inputs.append(Input("operator", 0.0, given.operator_c))
    elif stated is not None:
        found.take("operator", 0.0, stated)
    elif (groups := _by_operator(found)) is not None:
        seen = between_groups(groups)
        found.inputs.append(
            Input("operator", 0.0, seen.between, degrees_of_freedom=seen.degrees_of_freedom)
        )
        found.notes.append(
            f"operator: verifications by {seen.groups} operators, s {seen.between:.2f} °C between "
            f"them and {seen.within:.2f} °C within"
        )
    else:
        found.missing.append(
            "between operators: nothing on record or given, nor verifications by two operators"
        )


def _by_operator(found: _Collected) -> Sequence[Sequence[float]] | None:
    """Return the differences of verifications, operator by operator with two at least."""
    differences: dict[str, list[float]] = {}
    for each in verifications_for(found.ledger, found.result):
        if each.conditions is not None and each.id not in found.ledger.causes:
            differences.setdefault(each.conditions.operator, []).append(each.difference_c)
    groups = [group for who, group in differences.items() if who and len(group) > 1]
    varies = any(len(set(group)) > 1 for group in groups)
    return groups if len(groups) > 1 and varies else None


def _volume(found: _Collected, given: Given) -> None:
    stated = found.on_record("volume")
    if given.volume_c is not None:
        found.inputs.append(Input("volume", 0.0, given.volume_c))
    elif stated is not None:
        found.take("volume", 0.0, stated)
    else:
        found.missing.append("specimen volume: nothing on record or given")
