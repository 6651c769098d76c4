"""Put an uncertainty on record for the budgets of results; list what is stated."""

from decimal import Decimal
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.reasons import in_words
from closedcup.errors import InputError
from closedcup.laboratory.stated_uncertainty import (
    SHAPES,
    UNITS,
    StatedUncertainty,
    check_source,
)
from closedcup.quantities import parse_difference, parse_pressure_difference

Answer = dict[str, Any]


def state_uncertainty(
    opened: OpenLaboratory,
    source: str,
    amount: str,
    basis: str,
    *,
    shape: str = "standard",
    degrees_of_freedom: int | None = None,
    apparatus_id: str = "",
    key: str | None = None,
) -> Answer:
    """Record an uncertainty of a source as typed, for one apparatus or for all.

    The barometer's is a difference of pressure, the others a difference of temperature (the
    slope's for 1 kPa). Raises InputError for an unknown source or shape, for one that is not
    positive, or without its basis in words.
    """
    ledger, name = opened.state, check_source(source)
    if shape not in SHAPES:
        raise InputError(
            "shape-unknown",
            f"An uncertainty is not stated as “{shape}”.",
            where="shape",
            fix=f"One of: {', '.join(SHAPES)}.",
        )
    if apparatus_id:
        find(ledger.apparatus, apparatus_id, "apparatus")
    value = (
        parse_pressure_difference(amount, where=name).kpa
        if name == "barometer"
        else parse_difference(amount, where=name).c
    )
    if not value > 0 or (degrees_of_freedom is not None and degrees_of_freedom < 1):
        raise InputError(
            "uncertainty",
            "An uncertainty is above zero, and so are its degrees of freedom.",
            where=name,
        )
    stated = StatedUncertainty(
        source=name,
        apparatus=apparatus_id,
        value=Decimal(repr(round(value, 9))),
        shape=shape,
        degrees_of_freedom=degrees_of_freedom,
        basis=in_words(basis, "basis"),
        stated_at=opened.clock().isoformat(),
    )
    opened.record("uncertainty-stated", apparatus_id or "laboratory", stated, key=key)
    return _told(stated)


def stated(opened: OpenLaboratory) -> list[Answer]:
    """Return the uncertainties on record."""
    return [_told(each) for each in opened.state.stated_uncertainties.values()]


def _told(stated: StatedUncertainty) -> Answer:
    return {
        "source": stated.source,
        "apparatus": stated.apparatus or None,
        "value": float(stated.value),
        "unit": UNITS[stated.source],
        "shape": stated.shape,
        "degrees_of_freedom": stated.degrees_of_freedom,
        "basis": stated.basis,
        "stated_at": stated.stated_at,
    }
