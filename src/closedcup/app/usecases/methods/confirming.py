"""Check a method's numbers against the laboratory's own copy, each once."""

from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.methods.citing import in_words
from closedcup.app.usecases.methods.methods_on_record import method_of
from closedcup.errors import InputError
from closedcup.methods import Confirmation, check_confirmation, differs, method, parameters
from closedcup.records.encoding import to_body

Answer = dict[str, Any]


def confirmation_state(opened: OpenLaboratory, method_id: str) -> Answer:
    """Return every number of a method to be checked, and what the laboratory's copy said."""
    chosen = method(method_id)
    read = opened.state.confirmations.get(chosen.id, {})
    rows: list[Answer] = []
    for one in parameters(chosen):
        seen = read.get(one.name)
        changed = seen is not None and differs(seen.value, one.cited.value)
        (entry,) = in_words([one.cited.as_json(one.words)])
        rows.append(
            {
                "number": one.name,
                "words": one.words,
                "value": one.cited.value,
                "unit": one.cited.unit,
                "source": entry["source"],
                "known": one.cited.known,
                "own_copy": None if seen is None else seen.value,
                "in_use": one.cited.value if seen is None else seen.value,
                "known_in_use": "user" if changed else one.cited.known,
                "clause": "" if seen is None else seen.clause,
                "edition": "" if seen is None else seen.edition,
                "by": "" if seen is None else opened.store.names().get(seen.by, seen.by),
                "confirmed_at": None if seen is None else seen.confirmed_at,
            }
        )
    left = sum(row["confirmed_at"] is None for row in rows)
    return {
        "method": chosen.id,
        "name": chosen.name,
        "confirmed": method_of(opened.state, chosen.id).confirmed,
        "checked": len(rows) - left,
        "left": left,
        "numbers": rows,
    }


def checked_and_all(opened: OpenLaboratory, method_id: str) -> tuple[int, int]:
    """Return how many of a method's numbers were checked, and how many there are."""
    chosen = method(method_id)
    read = opened.state.confirmations.get(chosen.id, {})
    names = [one.name for one in parameters(chosen)]
    return sum(name in read for name in names), len(names)


def last_read(opened: OpenLaboratory, method_id: str) -> tuple[str, str]:
    """Return edition and clause of the number that was checked last; empty before the first."""
    read = opened.state.confirmations.get(method(method_id).id, {})
    last = max(read.values(), key=lambda one: one.confirmed_at, default=None)
    return ("", "") if last is None else (last.edition, last.clause)


def confirm_number(
    opened: OpenLaboratory,
    method_id: str,
    number: str,
    value: str,
    *,
    clause: str,
    edition: str,
    key: str | None = None,
) -> Confirmation:
    """Record what the laboratory's own copy says for one number; `value` with its unit."""
    opened.permit("parameters-confirmed")
    chosen = method(method_id)
    amount, unit = read_value(value, where=f"{chosen.id}, {number}")
    confirmation = Confirmation(
        chosen.id, number, amount, unit, " ".join(clause.split()), " ".join(edition.split())
    )
    check_confirmation(chosen, confirmation)
    body = to_body(confirmation)
    del body["by"], body["confirmed_at"]  # the entry itself says who and when
    opened.record("parameters-confirmed", f"{chosen.id}/{number}", body, key=key)
    return confirmation


def read_value(text: str, *, where: str) -> tuple[float, str]:
    """Read “23 degC” or “0.029 1” as a number and its unit; the unit is never guessed."""
    amount, _, unit = text.strip().replace("°C", "degC").partition(" ")
    try:
        return float(amount.replace("−", "-")), unit.strip()
    except ValueError:
        raise InputError(
            "parameter-unreadable",
            f"“{text}” is not a number with its unit.",
            where=where,
            fix="Give it as “23 degC”, “5.5 degC/min”, “60 s”; a pure number as “0.9 1”.",
        ) from None
