"""Recommend a method for a sample and say why each other one was ruled out."""

from typing import Any, Final

from closedcup.app.usecases.methods.methods_on_record import MethodLookup
from closedcup.classification.regimes import find_regime
from closedcup.errors import InputError
from closedcup.methods import (
    Choice,
    Need,
    choose,
    method,
    methods,
    parse_product,
    parse_purpose,
    parse_trait,
)
from closedcup.quantities import Temperature, parse_temperature, parse_viscosity

Answer = dict[str, Any]

# The regime whose test methods count when none is named.
_REGIME_OF: Final = {"transport": "UN class 3", "waste": "RCRA"}


def recommended(
    *,
    product: str,
    purpose: str,
    expected: Temperature | None = None,
    viscosity: str | None = None,
    traits: tuple[str, ...] = (),
    at_limit: bool = False,
    available_ml: float | None = None,
    named: tuple[str, ...] = (),
    regime: str | None = None,
    lookup: MethodLookup = method,
) -> Answer:
    """Return the recommended method, those that fit too, and those ruled out, with reasons.

    viscosity: “90 mm2/s at 25 degC”. named: methods that the specification names. regime: whose
    test methods count; for transport UN class 3 and for waste RCRA unless another is given.
    """
    asked = parse_purpose(purpose)
    value, at = _viscosity(viscosity)
    allowed, named_by = _named(asked, named, regime)
    need = Need(
        product=parse_product(product),
        purpose=asked,
        expected_corrected_c=None if expected is None else expected.c,
        viscosity_mm2_s=value,
        viscosity_at_c=at,
        traits=frozenset(parse_trait(trait) for trait in traits),
        at_limit=at_limit,
        available_ml=available_ml,
        named=allowed,
        named_by=named_by,
    )
    choices = choose([lookup(each.id) for each in methods()], need)
    best = next((one for one in choices if one.state == "recommended"), None)
    return {
        "product": need.product,
        "purpose": asked,
        "expected_corrected_c": need.expected_corrected_c,
        "named_by": named_by or None,
        "recommended": None if best is None else best.method.id,
        "methods": [_row(one) for one in choices],
    }


def _row(choice: Choice) -> Answer:
    return {
        "id": choice.method.id,
        "name": choice.method.name,
        "state": choice.state,
        "why": list(choice.why),
        "mind": list(choice.mind),
    }


def _viscosity(text: str | None) -> tuple[float | None, float | None]:
    if text is None:
        return None, None
    value, separator, at = text.partition(" at ")
    if not separator:
        raise InputError(
            "viscosity-temperature-missing",
            f"A viscosity of “{text}” says little without its temperature.",
            where="viscosity",
            fix="Give it as “4 mm2/s at 40 degC”.",
        )
    return parse_viscosity(value).mm2_s, parse_temperature(at, where="viscosity").c


def _named(
    purpose: str, named: tuple[str, ...], regime: str | None
) -> tuple[frozenset[str] | None, str]:
    if named:
        return frozenset(method(identifier).id for identifier in named), "The specification"
    name = regime or _REGIME_OF.get(purpose)
    if name is None:
        return None, ""
    found = find_regime(name)
    return found.methods.method_ids, found.name
