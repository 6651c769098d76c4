"""What the records say of a result's uncertainty from above: R, verifications, rounds."""

from collections.abc import Sequence
from math import inf, sqrt
from typing import Final

from closedcup.app.usecases.uncertainty.uncertainty import FromAbove
from closedcup.laboratory import Result, Verification
from closedcup.methods import method
from closedcup.metrology import from_history, from_reproducibility
from closedcup.records.ledger import Ledger

_LEAST: Final = 5
"""Fewer verifications or rounds say too little of what varies."""


def seen_from_above(ledger: Ledger, result: Result) -> tuple[FromAbove, ...]:
    """Return what R says, and what verifications and rounds say where there are five of them."""
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
    return (*seen, *_from_verifications(ledger, result), *_from_rounds(ledger, result))


def verifications_for(ledger: Ledger, result: Result) -> Sequence[Verification]:
    """Return the verifications of a result's apparatus that speak for its method."""
    apparatus = ledger.series[result.series].apparatus
    return ledger.verifications_for(apparatus, ledger.tests[result.test].method)


def _from_verifications(ledger: Ledger, result: Result) -> list[FromAbove]:
    # What was assigned to a cause that is gone does not vary any more.
    made = [each for each in verifications_for(ledger, result) if each.id not in ledger.causes]
    if len(made) < _LEAST:
        return []
    certificates = [
        float(ledger.materials[each.material].expanded_uncertainty_c or 0) / 2 for each in made
    ]
    found = from_history(
        [each.difference_c for each in made], reference_uncertainty=_root_mean_square(certificates)
    )
    words = (
        f"{found.n} verifications: s {found.within_site:.2f} °C, mean difference "
        f"{found.bias:+.2f} °C, reference {found.reference:.2f} °C"
    )
    return [FromAbove(found.uncertainty, found.degrees_of_freedom, words)]


def _from_rounds(ledger: Ledger, result: Result) -> list[FromAbove]:
    """Return what rounds by the same published method say of single results."""
    wanted = method(ledger.tests[result.test].method).designation
    sent = [
        each for each in ledger.proficiency.values() if method(each.method).designation == wanted
    ]
    if len(sent) < _LEAST:
        return []
    found = from_history(
        [float(each.result_c - each.assigned_c) for each in sent],
        reference_uncertainty=_root_mean_square(
            [float(each.assigned_uncertainty_c or 0) for each in sent]
        ),
    )
    words = (
        f"{found.n} results of proficiency rounds: s {found.within_site:.2f} °C, mean difference "
        f"{found.bias:+.2f} °C, assigned values {found.reference:.2f} °C"
    )
    return [FromAbove(found.uncertainty, found.degrees_of_freedom, words)]


def _root_mean_square(uncertainties: Sequence[float]) -> float:
    return sqrt(sum(u**2 for u in uncertainties) / len(uncertainties))
