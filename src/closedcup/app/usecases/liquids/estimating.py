"""Estimate a flash point from what was typed or from what a sample is said to contain."""

import csv
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from closedcup.errors import InputError, Refused
from closedcup.mixtures import (
    Blend,
    Estimate,
    Liquid,
    PairParameters,
    blend,
    estimate,
    own_liquids,
    own_warnings,
    parse_parameters,
)
from closedcup.quantities import Amount, Pressure
from closedcup.quantities.amounts import parse_fraction
from closedcup.quantities.pressure import STANDARD_KPA

if TYPE_CHECKING:  # an estimate does without the records, and mostly without a method
    from closedcup.app.usecases.methods.methods_on_record import MethodLookup
    from closedcup.laboratory import Composition
    from closedcup.laboratory.sample import Basis, Trust
    from closedcup.methods import Method
    from closedcup.planning import Expected
    from closedcup.records.ledger import Ledger


def blend_of(
    composition: "Composition",
    *,
    normalise: bool = False,
    own: Mapping[str, Liquid] | None = None,
) -> Blend:
    """Return a sample's composition as a blend; InputError for names or fractions that fail.

    `own` liquids and values win over the catalogue's.
    """
    return blend(
        [(part.name, float(part.fraction)) for part in composition.components],
        basis=composition.basis,
        normalise=normalise,
        own=own,
    )


def own_on_record(ledger: "Ledger") -> dict[str, Liquid]:
    """Return the laboratory's own liquids and values, as recorded."""
    return own_liquids([each.values for each in ledger.own_liquids.values()])


def parameters_from(file: Path) -> PairParameters:
    """Read a file of NRTL, Wilson or UNIQUAC parameters; InputError where it cannot be used."""
    try:
        table = tomllib.loads(file.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError(
            "parameters-unreadable",
            f"{file.name} cannot be read as TOML: {error}.",
            where="parameters",
            fix="Give a TOML file with model, source and [[pair]] entries.",
        ) from error
    return parse_parameters(table)


def own_liquids_from(file: Path) -> dict[str, Liquid]:
    """Read the laboratory's own liquids from TOML ([[liquid]] entries) or CSV (one row each)."""
    try:
        text = file.read_text(encoding="utf-8-sig")
        if file.suffix.lower() == ".csv":
            lines = [line for line in text.splitlines() if not line.startswith("#")]
            entries: Any = list(csv.DictReader(lines, strict=True))
        else:
            entries = tomllib.loads(text).get("liquid", [])
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, csv.Error) as error:
        raise _unreadable(file, str(error)) from error
    if (
        not isinstance(entries, list)
        or not entries
        or not all(isinstance(entry, dict) and None not in entry for entry in entries)
    ):
        raise _unreadable(file, "no entries, or a row that is longer than its heading")
    return own_liquids(entries)


def _unreadable(file: Path, reason: str) -> InputError:
    return InputError(
        "own-liquids-unreadable",
        f"{file.name} cannot be read as own liquids: {reason}.",
        where="own",
        fix="Give a TOML file of [[liquid]] entries with name or cas and flash_point_c, or a CSV "
        "file with these headings.",
    )


def relative_uncertainty(text: str) -> float:
    """Read a relative standard uncertainty, “2 %” or “0.02”; InputError above a half."""
    fraction = float(parse_fraction(text, where="amount uncertainty")[0])
    if fraction > 0.5:
        raise InputError(
            "amounts-unknown",
            f"Amounts known to {fraction:.0%} say nothing of a blend.",
            where="amount uncertainty",
            fix="Give the standard uncertainty of each amount as a share of itself: “2 %”.",
        )
    return fraction


def expected_from(found: Estimate) -> "Expected":
    """Return an estimate as what a plan expects."""
    from closedcup.planning import Expected

    return Expected(found.flash_c, found.low_c, found.high_c)


def estimate_answer(
    amounts: tuple[Amount, ...],
    *,
    basis: "Basis" = "mole",
    pressure: Pressure | None = None,
    method_id: str | None = None,
    activity: str = "default",
    parameters: PairParameters | None = None,
    trust: "Trust" = "declared",
    normalise: bool = False,
    own: Mapping[str, Liquid] | None = None,
    amount_uncertainty: float = 0.0,
    cup_family: str | None = None,
    lookup: "MethodLookup | None" = None,
) -> dict[str, Any]:
    """Return the object of `closedcup estimate`: calculated, never a test result.

    With a method, the starting temperature by its rule, at the pressure given or else at 101.3
    kPa. `own` liquids and values win over the catalogue's. `amount_uncertainty` is the relative
    standard uncertainty of each amount; `cup_family` asks for reference figures of one family.
    """
    found = estimate(
        blend(amounts, basis=basis, normalise=normalise, own=own),
        activity=activity,
        parameters=parameters,
        pressure_kpa=None if pressure is None else pressure.kpa,
        amount_uncertainty=amount_uncertainty,
        cup_family=cup_family,
    )
    answer: dict[str, Any] = dict(found.as_json())
    answer["warnings"] = [*answer["warnings"], *own_warnings(own or {})]
    if method_id is not None:
        from closedcup.methods import method

        answer |= _start(found, (lookup or method)(method_id), pressure, trust)
    return answer


def _start(
    found: Estimate, chosen: "Method", pressure: Pressure | None, trust: "Trust"
) -> dict[str, Any]:
    from closedcup.methods import FiniteAim, refuse_unguided
    from closedcup.planning import Bench, Knowledge, starting_temperature

    refuse_unguided(chosen)
    if chosen.test == "flash/no-flash":
        raise Refused(
            "no-limit-given",
            f"{chosen.name} is set to a limit, not to an estimate.",
            where=f"method {chosen.id}",
            fix="Use: closedcup setpoint --limit … --pressure …",
        )
    start = starting_temperature(
        chosen,
        FiniteAim(),
        Knowledge(composition=trust, estimate=expected_from(found)),
        Bench(pressure_kpa=STANDARD_KPA if pressure is None else pressure.kpa),
    )
    return {
        "starting_cup_c": start.start_cup_c,
        "starting_rule": start.rule,
        "starting_clause": start.clause,
        "trusts": start.trusts,
    }
