"""Proficiency rounds: record how a result was scored, and show scores over time."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from itertools import pairwise
from math import sqrt
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.moments import read_day
from closedcup.errors import InputError
from closedcup.laboratory.proficiency import ProficiencyResult
from closedcup.methods import method
from closedcup.metrology import scores
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Sent:
    """What the laboratory sent to a round, and what the round answered. All in °C.

    deviation_c is σ for proficiency assessment; the uncertainties are standard ones.
    """

    round: str
    held_on: str
    method: str
    result_c: Decimal
    assigned_c: Decimal
    deviation_c: Decimal
    provider: str = ""
    material: str = ""
    person: str = ""
    apparatus: str = ""
    result_uncertainty_c: Decimal | None = None
    assigned_uncertainty_c: Decimal | None = None


def record_result(opened: OpenLaboratory, sent: Sent, *, key: str | None = None) -> Answer:
    """Score a result and put it on record, with the numbers as computed now.

    Raises InputError for a round without a name, for σ that is not positive, and for the same
    person's result on the same material of a round twice.
    """
    if (earlier := opened.recorded(key)) is not None:
        return told(opened.state.proficiency[earlier.subject])
    ledger = opened.state
    if not sent.round.strip():
        raise InputError("round-missing", "Which round was it?", where="round", fix="Name it.")
    for identifier, shelf, what in (
        (sent.person, ledger.people, "person"),
        (sent.apparatus, ledger.apparatus, "apparatus"),
    ):
        if identifier:
            find(shelf, identifier, what)
    _refuse_twice(ledger, sent)
    found = scores(
        float(sent.result_c),
        assigned=float(sent.assigned_c),
        assigned_uncertainty=float(sent.assigned_uncertainty_c or 0),
        deviation=float(sent.deviation_c),
        result_uncertainty=None
        if sent.result_uncertainty_c is None
        else float(sent.result_uncertainty_c),
    )
    facts = asdict(sent) | {
        "method": method(sent.method).id,
        "round": sent.round.strip(),
        "held_on": read_day(sent.held_on, "on").isoformat(),
    }
    result = ProficiencyResult(
        id=f"PT-{len(ledger.proficiency) + 1:04d}",
        **facts,
        z=found.z,
        z_prime=found.z_prime,
        zeta=found.zeta,
        en=found.en,
        judged_by="z" if found.uncertainty_negligible else "z′",
        standing=found.standing,
    )
    opened.record("proficiency-result-recorded", result.id, result, key=key)
    return told(result)


def _refuse_twice(ledger: Ledger, sent: Sent) -> None:
    for each in ledger.proficiency.values():
        if (each.round, each.material, each.method, each.person, each.apparatus) == (
            sent.round.strip(),
            sent.material,
            sent.method,
            sent.person,
            sent.apparatus,
        ):
            raise InputError(
                "round-result-twice",
                f"{each.id} is that result of round {each.round} already: {each.result_c} °C.",
                where=f"round {each.round}",
                fix="Name the person, the apparatus or the material if it is another result.",
            )


def told(result: ProficiencyResult) -> Answer:
    """Return a result of a round as `--json` prints it."""
    return {
        name: float(value) if isinstance(value, Decimal) else value
        for name, value in asdict(result).items()
    } | {"difference_c": float(result.result_c - result.assigned_c), "score": result.score}


def history(
    opened: OpenLaboratory,
    *,
    person: str | None = None,
    method_id: str | None = None,
) -> Answer:
    """Return the results of rounds, oldest first, what they say together, and of each person."""
    ledger = opened.state
    if person is not None:
        find(ledger.people, person, "person")
    wanted = None if method_id is None else method(method_id).designation
    kept = sorted(
        (
            each
            for each in ledger.proficiency.values()
            if person in (None, each.person)
            and (wanted is None or method(each.method).designation == wanted)
        ),
        key=lambda each: each.held_on,
    )
    people = dict.fromkeys(each.person for each in kept if each.person)
    return {
        "results": [told(each) for each in kept],
        "laboratory": _together(kept),
        "people": [
            {"person": one, "name": opened.name_of(one)}
            | _together([each for each in kept if each.person == one])
            for one in people
        ],
    }


def _together(results: Sequence[ProficiencyResult]) -> Answer:
    """Sum scores up: Σz/√n is standard normal for a laboratory without bias (ISO 13528, memory).

    A score of 3 or more asks for action, and so do two in a row between 2 and 3 on one side.
    """
    scored = [each.score for each in results]
    said = [
        f"{each.id}: {each.judged_by} = {each.score:+.2f} asks for action."
        for each in results
        if each.standing == "action"
    ]
    said += [
        f"{before.id} and {after.id} are both questionable, on the same side: look for a bias."
        for before, after in pairwise(results)
        if before.standing == after.standing == "questionable" and before.score * after.score > 0
    ]
    rescaled = sum(scored) / sqrt(len(scored)) if scored else None
    if rescaled is not None and len(scored) > 1 and abs(rescaled) > 2:
        said.append(
            f"The scores together lean to one side (Σz/√n = {rescaled:+.2f}): look for a bias."
        )
    return {
        "count": len(scored),
        "mean_score": sum(scored) / len(scored) if scored else None,
        "rescaled_sum": rescaled,
        "satisfactory": sum(each.standing == "satisfactory" for each in results),
        "questionable": sum(each.standing == "questionable" for each in results),
        "action": sum(each.standing == "action" for each in results),
        "warnings": said,
    }


def scored_in_round(
    answer: Answer, site: str, material: str | None
) -> tuple[str, Decimal, Decimal, Decimal, Decimal]:
    """Return a site's material, mean, assigned value, its uncertainty and σ of an evaluated round.

    `answer` is what `round_among_sites.evaluate_round` returned. InputError where the site or the
    material is not in the table, or several materials are and none is named.
    """
    found = [
        entry
        for entry in answer["scores"]
        if entry["site"] == site and material in (None, entry["material"])
    ]
    if len(found) != 1:
        sites = ", ".join(sorted({entry["site"] for entry in answer["scores"]}))
        raise InputError(
            "site-unclear",
            f"The table holds {len(found) or 'no'} scores of {site}"
            + (f" on {material}." if material else "."),
            where="site",
            fix=f"Sites: {sites}. Where there are several materials, name one.",
        )
    entry = found[0]
    numbers = ("mean_c", "assigned_c", "assigned_uncertainty_c", "deviation_c")
    mean, assigned, uncertain, deviation = (
        Decimal(repr(round(entry[name], 6))) for name in numbers
    )
    return entry["material"], mean, assigned, uncertain, deviation
