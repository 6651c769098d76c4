"""What a report says of the sample, as received and as the customer stated it."""

from typing import Any

from closedcup.laboratory import Sample
from closedcup.mixtures import find as find_liquid

Facts = dict[str, Any]


def sample_facts(sample: Sample) -> Facts:
    """Return the sample as received."""
    composition = sample.composition
    return {
        "id": sample.id,
        "description": sample.description,
        "condition": sample.condition or "nothing unusual noted",
        "received_at": sample.received_at,
        "sampled_at": sample.sampled_at or None,
        "sampled_by": "customer",
        "sampling": sample.sampling or None,
        "container": sample.container or None,
        "fill_percent": None if sample.fill_percent is None else str(sample.fill_percent),
        "arrived_at_c": None if sample.arrived_c is None else str(sample.arrived_c),
        "composition": {
            "trust": composition.trust,
            "basis": composition.basis if composition.components else None,
            "components": [
                {
                    "name": part.name,
                    "cas": find_liquid(part.name).cas,
                    "fraction": str(part.fraction),
                }
                for part in composition.components
            ],
        },
        "product_kind": sample.kind or None,
        "waste": sample.is_waste,
    }


def customer_supplied(sample: Sample) -> list[str]:
    """Return which facts of the record the customer supplied."""
    supplied = ["customer", "sample.description", "sample.sampled_at", "sample.sampling"]
    if sample.composition.trust == "declared":
        supplied.append("sample.composition")
    return supplied


def omitted(sample: Sample) -> Facts:
    """Return what the report leaves out, by its letter, and why."""
    omitted = {"p": "No results come from external providers."}
    if not sample.customer_contact:
        omitted["e"] = "The customer gave no contact."
    if not sample.sampled_at:
        omitted["h"] = "The date of sampling was not given to the laboratory."
    if not sample.sampling:
        omitted["k"] = "The laboratory did not sample; no sampling plan was given to it."
    return omitted
