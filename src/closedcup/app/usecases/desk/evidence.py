"""The evidence for a classification: from what was typed, or from what is on record."""

from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any, Final, get_args

from closedcup.classification import Evidence, product_kinds
from closedcup.classification.evidence import LABELS, Mode
from closedcup.classification.products import product_groups
from closedcup.conformity import spread_from_reproducibility
from closedcup.errors import InputError
from closedcup.laboratory import Evidence as EvidenceOnRecord
from closedcup.laboratory import RequestedTest, Result, Sample
from closedcup.methods import PRODUCTS
from closedcup.quantities import (
    parse_difference,
    parse_duration,
    parse_fraction,
    parse_length,
    parse_temperature,
    parse_viscosity,
    parse_volume,
)

HALOGENATED: Final = "halogenated mixture"
COVERAGE: Final = 2.0  # of an expanded uncertainty as typed
_YES_NO: Final = {"yes": True, "no": False}


def _yes_no(text: str, where: str) -> bool:
    answer = _YES_NO.get(text.strip().lower())
    if answer is None:
        raise InputError(
            "not-yes-or-no", f"“{text}” is neither yes nor no.", where=where, fix="Say yes or no."
        )
    return answer


def _percent(text: str, where: str) -> float:
    number, was_percent = parse_fraction(text, where=where)
    return float(number) * (100 if was_percent else 1)


def _mode(text: str) -> str:
    if text not in get_args(Mode):
        raise InputError(
            "mode-unknown",
            f"“{text}” is not a mode of carriage.",
            where="mode",
            fix=f"Say one of: {', '.join(get_args(Mode))}.",
        )
    return text


def known_product(text: str) -> str:
    """Return a product kind that a method or a rule names; InputError for any other.

    A kind that is spelled another way would silently lose its own rules.
    """
    known = sorted({*product_kinds(), *PRODUCTS})
    product = " ".join(text.lower().split())
    if product in known:
        return product
    near = get_close_matches(product, known, n=3, cutoff=0.5)
    raise InputError(
        "product-unknown",
        f"No rule names the product “{text}”.",
        where="product",
        fix=f"Did you mean {' or '.join(near)}?" if near else f"Known: {', '.join(known)}.",
    )


def product_as_said(text: str) -> str:
    """Return a product kind as typed; InputError only where it looks like a misspelt known one.

    A product that no rule names loses nothing by it, and the answer says that none was applied.
    """
    known = sorted({*product_kinds(), *PRODUCTS})
    product = " ".join(text.lower().split())
    if product in known or not get_close_matches(product, known, n=1, cutoff=0.75):
        return product
    return known_product(text)


def _property(text: str) -> tuple[str, Any]:
    """Read "separation_percent=2": a property by its name on record, which ends in the unit."""
    name, _, value = (part.strip() for part in text.partition("="))
    if name not in RECORDABLE or not value:
        near = get_close_matches(name, RECORDABLE, n=3, cutoff=0.4)
        raise InputError(
            "property-unknown",
            f"“{text}” is not a property with its value.",
            where="property",
            fix=f"Did you mean {' or '.join(near)}? " * bool(near)
            + f"Write NAME=VALUE with one of: {', '.join(sorted(RECORDABLE))}.",
        )
    return name, value_on_record(EvidenceOnRecord(name, value, "as typed", ""))


def typed_evidence(
    *,
    flash: str,
    boils: str | None = None,
    method: str | None = None,
    viscosity: str | None = None,
    flow_time: str | None = None,
    cup_jet: str | None = None,
    sustains: str | None = None,
    fire_point: str | None = None,
    water: str | None = None,
    alcohol: str | None = None,
    product: str | None = None,
    carried_at: str | None = None,
    receptacle: str | None = None,
    mode: str | None = None,
    reported: str | None = None,
    uncertainty: str | None = None,
    used_at: str | None = None,
    separation: str | None = None,
    other_hazards: str | None = None,
    properties: Sequence[str] = (),
    calculated: bool = False,
) -> Evidence:
    """Read evidence as typed, each quantity with its unit; percentages stand alone.

    `uncertainty` is expanded, k = 2; `properties` are further ones by the names of the records.
    """
    given: dict[str, Any] = {"flash_c": parse_temperature(flash, where="flash").c}
    readers: dict[str, tuple[str | None, Any]] = {
        "boiling_c": (boils, lambda text: parse_temperature(text, where="boils").c),
        "viscosity_mm2_s": (viscosity, lambda text: parse_viscosity(text).mm2_s),
        "flow_time_s": (flow_time, lambda text: parse_duration(text, where="flow time").s),
        "cup_jet_mm": (cup_jet, lambda text: parse_length(text, where="cup jet").mm),
        "sustains_combustion": (sustains, lambda text: _yes_no(text, "sustains")),
        "fire_point_c": (fire_point, lambda text: parse_temperature(text, where="fire point").c),
        "water_mass_percent": (water, lambda text: _percent(text, "water")),
        "alcohol_volume_percent": (alcohol, lambda text: _percent(text, "alcohol")),
        "carried_at_c": (carried_at, lambda text: parse_temperature(text, where="carried at").c),
        "receptacle_l": (receptacle, lambda text: parse_volume(text, where="receptacle").litres),
        "mode": (mode, _mode),
        "product": (product, product_as_said),
        "reported_c": (reported, lambda text: parse_temperature(text, where="reported").c),
        "standard_uncertainty_c": (uncertainty, _standard_c),
        "used_at_c": (used_at, lambda text: parse_temperature(text, where="used at").c),
        "separation_percent": (separation, lambda text: _percent(text, "separation")),
        "other_hazards": (other_hazards, lambda text: _yes_no(text, "other hazards")),
        "method_id": (method, lambda text: text.strip().lower()),
    }
    given |= {name: read(text) for name, (text, read) in readers.items() if text is not None}
    for name, value in (_property(text) for text in properties):
        if name in given:
            raise InputError("given-twice", f"{name} is given twice.", where="property")
        given[name] = value
    halogenated = HALOGENATED in product_groups(given.get("product") or "")
    return Evidence(**given, calculated=calculated, halogenated=halogenated)


def _standard_c(text: str) -> float:
    return parse_difference(text, where="uncertainty").c / COVERAGE


_CIRCUMSTANCES: Final = {
    "carried_at_c": LABELS["flash_above_carriage"],
    "used_at_c": LABELS["flash_above_use"],
}
_NUMBERS: Final = frozenset(
    name for name, hint in Evidence.__annotations__.items() if hint == float | None
)
_TRUTHS: Final = frozenset(
    name for name, hint in Evidence.__annotations__.items() if hint == bool | None
)
RECORDABLE: Final = (_NUMBERS | _TRUTHS | {"mode"}) - {
    "flash_c",
    "reported_c",
    "no_flash_at_c",
    "flash_at_c",
    "standard_uncertainty_c",
    "reproducibility_c",
}


_UNIT_WORDS: Final = (
    ("_mm2_s", "mm²/s"),
    ("_percent", "%"),
    ("_kpa", "kPa"),
    ("_mm", "mm"),
    ("_c", "°C"),
    ("_s", "s"),
    ("_l", "L"),
)


def properties_in_words() -> list[tuple[str, str]]:
    """Return each property that may be put on record, with how it is asked for."""
    said = []
    for name in sorted(RECORDABLE):
        label = LABELS.get(name) or LABELS.get(name.removesuffix("_c"), _CIRCUMSTANCES.get(name))
        unit = next((words for ending, words in _UNIT_WORDS if name.endswith(ending)), "")
        words = label or name.replace("_", " ")
        said.append((name, f"{words}, {unit}" if unit else words))
    return said


def refuse_unreadable(evidence: EvidenceOnRecord) -> None:
    """Raise InputError for a property that no rule uses, or a value that cannot be read."""
    if evidence.name not in RECORDABLE:
        raise InputError(
            "property-unknown",
            f"“{evidence.name}” is not a property that a rule uses.",
            where="evidence",
            fix=f"Use one of: {', '.join(sorted(RECORDABLE))}.",
        )
    value_on_record(evidence)


def value_on_record(evidence: EvidenceOnRecord) -> float | bool | str:
    """Return the value of a property on record; InputError where it cannot be read."""
    if evidence.name == "mode":
        return _mode(evidence.value)
    if evidence.name in _TRUTHS:
        return _yes_no(evidence.value, evidence.name)
    try:
        return float(evidence.value)
    except ValueError:
        raise InputError(
            "not-a-number",
            f"“{evidence.value}” is not a number.",
            where=evidence.name,
            fix="Write the value in the unit that the property's name ends in.",
        ) from None


def evidence_for(
    result: Result,
    test: RequestedTest,
    sample: Sample,
    on_record: tuple[EvidenceOnRecord, ...],
    *,
    masked: bool,
    halogenated: bool,
) -> Evidence:
    """Gather the evidence for a result; what is not on record stays unknown."""
    known: dict[str, Any] = {each.name: value_on_record(each) for each in on_record}
    has_value = result.kind == "flash point"
    boiling_c = known.get("boiling_c")
    reached_c = result.low_corrected_c
    to_boiling = (
        result.kind == "no flash up to"
        and reached_c is not None
        and boiling_c is not None
        and reached_c >= boiling_c
    )
    return Evidence(
        flash_c=result.corrected_c if has_value else None,
        reported_c=result.reported_c if has_value else None,
        no_flash_at_c=None if has_value else result.low_corrected_c,
        flash_at_c=None if has_value else result.high_corrected_c,
        method_id=test.method,
        no_flash_to_boiling=to_boiling,
        masked=masked,
        halogenated=halogenated,
        reproducibility_c=result.reproducibility_c if has_value else None,
        standard_uncertainty_c=_standard_of(result) if has_value else None,
        product=sample.product or None,
        **known,
    )


def with_origin(answer: dict[str, Any], on_record: tuple[EvidenceOnRecord, ...]) -> dict[str, Any]:
    """Return an answer whose inputs from the records name the method and the date of each."""
    known = {each.name: each for each in on_record}
    inputs = [
        {
            **one,
            "method": known[one["name"]].method,
            "determined_on": known[one["name"]].determined_on,
        }
        if one["name"] in known
        else one
        for one in answer["inputs"]
    ]
    return {**answer, "inputs": inputs}


def _standard_of(result: Result) -> float | None:
    """Return the standard uncertainty that the method's reproducibility gives; without sampling."""
    if result.reproducibility_c is None:
        return None
    return spread_from_reproducibility(result.reproducibility_c).standard_c
