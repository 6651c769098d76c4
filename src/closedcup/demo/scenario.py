"""The invented scenario as values of the laboratory."""

import tomllib
from datetime import datetime
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any

from closedcup.laboratory import (
    Apparatus,
    Component,
    Composition,
    Evidence,
    PastResult,
    Person,
    ProbeCheck,
    ReferenceMaterial,
    RequestedTest,
    Sample,
    ServiceAnswer,
    Site,
    VerificationConditions,
    service_checklist,
)
from closedcup.laboratory.checklist import start_of_day_checklist
from closedcup.methods import method
from closedcup.quantities import Pressure, parse_amount, parse_limit, parse_pressure

Row = dict[str, Any]


@cache
def scenario() -> Row:
    """Return the scenario as written in its file."""
    file = files("closedcup.demo") / "scenario.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


def site() -> Site:
    """Return the invented site."""
    return Site(**scenario()["site"], demonstration=True)


def people() -> list[tuple[Person, str]]:
    """Return the invented people with their names."""
    return [(Person(row["id"], row["role"]), row["name"]) for row in scenario()["people"]]


def apparatus() -> list[tuple[Apparatus, ProbeCheck]]:
    """Return the invented apparatus, each with its probe check."""
    return [(_apparatus(row), _probe(row)) for row in scenario()["apparatus"]]


def _apparatus(row: Row) -> Apparatus:
    return Apparatus(
        id=row["id"],
        description=row["description"],
        serial=row["serial"],
        location=row["location"],
        methods=tuple(row["methods"]),
        lowest_cup_c=Decimal(row["lowest_cup_c"]),
        highest_cup_c=Decimal(row["highest_cup_c"]),
        igniter=row["igniter"],
        has_detector=row["has_detector"],
        firmware=row["firmware"],
    )


def _probe(row: Row) -> ProbeCheck:
    correction = row.get("probe_correction_c")
    return ProbeCheck(
        apparatus=row["id"],
        correction_c=None if correction is None else Decimal(correction),
        certificate=row["probe_certificate"],
        checked_on="2026-01-09",
    )


def service_answers() -> tuple[ServiceAnswer, ...]:
    """Return the checklist answered."""
    return tuple(
        ServiceAnswer(item.id, done=True, finding="demonstration" if item.needs_finding else "")
        for item in service_checklist().items
    )


def day_answers() -> tuple[ServiceAnswer, ...]:
    """Return the start-of-day card answered."""
    return tuple(ServiceAnswer(item.id, done=True) for item in start_of_day_checklist().items)


def materials() -> list[ReferenceMaterial]:
    """Return the invented reference materials."""
    return [
        ReferenceMaterial(
            id=row["id"],
            liquid=row["liquid"],
            lot=row["lot"],
            method=row["method"],
            value_c=Decimal(row["value_c"]),
            certificate=row["certificate"],
            expires_on=row["expires_on"],
            expanded_uncertainty_c=Decimal(row["expanded_uncertainty_c"]),
        )
        for row in scenario()["materials"]
    ]


def made_under(row: Row) -> VerificationConditions:
    """Return what a verification was made under."""
    rate = row.get("heating_rate_c_per_min")
    return VerificationConditions(
        pressure=parse_pressure(row["pressure"]),
        correction_applied_c=Decimal(row["correction_applied_c"]),
        heating_rate_c_per_min=None if rate is None else Decimal(rate),
        lid=row["lid"],
        igniter=row["igniter"],
        operator=row["operator"],
        order_in_day=row["order_in_day"],
    )


def sample(row: Row) -> Sample:
    """Return one of the six samples."""
    amounts = [parse_amount(text) for text in row["components"]]
    return Sample(
        id=row["id"],
        description=row["description"],
        customer=row["customer"],
        customer_contact=row["customer_contact"],
        received_at=row["received_at"],
        condition=row["condition"],
        container=row["container"],
        volume_ml=Decimal(row["volume_ml"]),
        composition=Composition(
            row["trust"],
            row.get("basis", "mass"),
            tuple(Component(each.name, each.fraction) for each in amounts),
        ),
        kind=row["kind"],
        product=row.get("product", ""),
        fill_percent=Decimal(row["fill_percent"]),
        arrived_c=Decimal(row["arrived_c"]),
        sampling=row["sampling"],
        is_waste=row.get("is_waste", False),
        suspected=tuple(row.get("suspected", ())),
        history=tuple(PastResult(Decimal(value), what) for value, what in row.get("history", ())),
        priority=row.get("priority", "routine"),
        in_doubt="go_ahead" in row,
        keep_days=row["keep_days"],
        kept_back_ml=Decimal(row["kept_back_ml"]) if "kept_back_ml" in row else None,
    )


def evidence(row: Row) -> list[Evidence]:
    """Return the properties on record for a sample."""
    return [Evidence(*each) for each in row.get("evidence", ())]


def requested_test(row: Row) -> RequestedTest:
    """Return the test asked of a sample."""
    limit = row.get("limit")
    chosen = method(row["method"])
    return RequestedTest(
        id=f"{row['id']}-T1",
        sample=row["id"],
        method=chosen.id,
        kind="limit" if chosen.test == "flash/no-flash" else "finite",
        step_c=float(row.get("step", "1")),
        limit=None if limit is None else parse_limit(limit),
        decision_rule=row.get("decision_rule", ""),
    )


def pressure() -> Pressure:
    """Return the station's pressure on the demo's day."""
    return parse_pressure(scenario()["day"]["pressure"])


def day_begins_at() -> datetime:
    """Return when the demo's day begins."""
    return datetime.fromisoformat(scenario()["day"]["begins_at"])
