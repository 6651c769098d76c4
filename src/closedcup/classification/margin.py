"""How far a flash point lies from the nearest limit at which the answer changes."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from closedcup.classification.evidence import Evidence
from closedcup.classification.outcome import run_table
from closedcup.classification.tables import Regime
from closedcup.quantities import Limit

# Just beyond the millionth of a degree at which limits are compared.
_BESIDE_C = 1e-5


@dataclass(frozen=True, slots=True)
class Margin:
    """The signed distance to a limit: flash point minus limit."""

    margin_c: float
    limit: Limit


def limits_of(regime: Regime, evidence: Evidence) -> Iterator[Limit]:
    """Return every limit that a regime sets to the flash point; those of its table first."""
    for row in sorted(regime.rows, key=lambda row: row.kind != "base"):
        if row.kind != "note":
            for condition in (*row.when, *row.if_given):
                limit = condition.flash_limit(evidence)
                if limit is not None:
                    yield limit


def _classes_at(regime: Regime, evidence: Evidence, flash_c: float) -> frozenset[str]:
    return run_table(regime, replace(evidence, flash_c=flash_c)).classes


def _changes_there(regime: Regime, evidence: Evidence, limit_c: float) -> bool:
    here = _classes_at(regime, evidence, limit_c)
    return any(
        _classes_at(regime, evidence, limit_c + beside_c) != here
        for beside_c in (-_BESIDE_C, _BESIDE_C)
    )


def margin_to_nearest_limit(regime: Regime, evidence: Evidence) -> Margin | None:
    """Return the distance to the nearest limit where the answer changes, all else equal.

    Where the other evidence leaves no such limit, the nearest limit of the table is taken.
    None where the flash point is not a value, or the table sets no limit to it.
    """
    if evidence.flash_c is None:
        return None
    flash_c = evidence.flash_c
    nearest_first = sorted(
        limits_of(regime, evidence), key=lambda limit: abs(flash_c - limit.corrected_c)
    )
    for limit in nearest_first:
        if _changes_there(regime, evidence, limit.corrected_c):
            return Margin(round(flash_c - limit.corrected_c, 9), limit)
    if not nearest_first:
        return None
    return Margin(round(flash_c - nearest_first[0].corrected_c, 9), nearest_first[0])
