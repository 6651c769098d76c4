"""A row as an entry of the records: what it would record, and whether that is on record already."""

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from closedcup.app.usecases.apparatus.verification_outcome import outcome_of
from closedcup.app.usecases.desk.retention import as_keep_days, as_priority
from closedcup.app.usecases.desk.samples import as_basis, as_trust, require_testable
from closedcup.errors import ClosedcupError, InputError, Refused
from closedcup.laboratory import Component, Composition, Sample, Verification
from closedcup.laboratory.outside_result import OutsideResult, OwnLiquid
from closedcup.quantities import Temperature
from closedcup.records import canonical_bytes
from closedcup.records.encoding import Body, to_body
from closedcup.records.ledger import Ledger

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Entry:
    """What rows would record: kind of event, subject, body.

    identity: what may stand in one row only; is_known: it is on record already, just so.
    """

    type: str
    subject: str
    body: Body
    rows: tuple[int, ...]
    identity: str
    observed_at: datetime | None = None
    is_known: bool = False

    @property
    def key(self) -> str:
        """The same for the same content, so that nothing is recorded twice."""
        content = json.dumps([self.subject, self.body], sort_keys=True)
        return f"import/{self.type}/{hashlib.sha256(content.encode()).hexdigest()}"


@dataclass(frozen=True, slots=True)
class Fault:
    """A row that cannot be taken, and why."""

    row: int
    error: ClosedcupError


Outcome = Entry | Fault


def entries_of(kind: str, ledger: Ledger, rows: Iterable[tuple[int, Values]]) -> Iterable[Outcome]:
    """Yield what rows would record, in order, and the rows that cannot be taken.

    The values of a row are by field; "today" is the moment at which the list is read.
    """
    if kind == "compositions":
        return _compositions(ledger, rows)
    return _one_by_one(_MAKERS[kind], ledger, rows)


def _one_by_one(
    make: Callable[[Ledger, int, Values], Entry],
    ledger: Ledger,
    rows: Iterable[tuple[int, Values]],
) -> Iterable[Outcome]:
    seen: dict[str, int] = {}
    for number, values in rows:
        try:
            entry = make(ledger, number, values)
        except (InputError, Refused) as error:
            yield Fault(number, error)
            continue
        first = seen.setdefault(entry.identity, number)
        yield entry if first == number else Fault(number, _repeated(entry, first))


def _repeated(entry: Entry, first: int) -> InputError:
    return InputError(
        "row-repeated",
        f"“{entry.identity}” stands in row {first} already.",
        fix="Leave one of the two rows out.",
    )


def _sample(ledger: Ledger, number: int, values: Values) -> Entry:
    on_record = ledger.samples.get(values["sample"])
    # without a date of its own it is the day on which the list was first taken in
    today = values["today"] if on_record is None else on_record.received_at
    received = values.get("received_at", today)
    arrived = values.get("arrived")
    sample = Sample(
        id=values["sample"],
        description=values["description"],
        customer=values.get("customer", ""),
        customer_contact=values.get("customer_contact", ""),
        received_at=received,
        condition=values.get("condition", ""),
        container=values.get("container", ""),
        volume_ml=_decimal(values["volume"].ml),
        composition=Composition("unknown"),
        kind=values.get("kind", ""),
        product=values.get("product", ""),
        fill_percent=values.get("fill_percent"),
        arrived_c=None if arrived is None else _decimal(arrived.c),
        is_waste=values.get("is_waste", False),
        priority=as_priority(values.get("priority", "")),
        due=values.get("due", "")[:10],
        keep_days=_keep_days(values.get("keep_days")),
    )
    require_testable(sample)
    if on_record is None:
        observed = datetime.fromisoformat(received)
        return Entry("sample-received", sample.id, to_body(sample), (number,), sample.id, observed)
    # what it consists of, and what was agreed of it since, is not what the list said of it
    agreed = ("composition", "priority", "due", "keep_days", "keep_until", "kept_back_ml")
    if _with(on_record, **{name: getattr(sample, name) for name in agreed}) != sample:
        raise _differs("sample", sample.id)
    return Entry("sample-received", sample.id, to_body(sample), (number,), sample.id, is_known=True)


def _outside_result(ledger: Ledger, number: int, values: Values) -> Entry:
    from closedcup.methods import method

    flash: Temperature = values["flash"]
    made = {
        "sample": values["sample"],
        "method": method(values["method"].casefold()).id,
        "corrected_c": _decimal(flash.c),
        "given": str(flash),
        "tested_on": values["tested_on"],
        **{
            name: values.get(name, "")
            for name in ("product", "laboratory", "analyst", "apparatus", "remarks")
        },
    }
    identifier = f"O-{_hash([str(each) for each in made.values()])[:12]}"
    result = OutsideResult(id=identifier, **made)
    known = identifier in ledger.outside_results
    return Entry(
        "outside-result-recorded",
        identifier,
        to_body(result),
        (number,),
        identifier,
        is_known=known,
    )


def _verification(ledger: Ledger, number: int, values: Values) -> Entry:
    from closedcup.app.usecases.lookup import find

    apparatus = find(ledger.apparatus, values["apparatus"], "apparatus")
    material = find(ledger.materials, values["material"], "reference material")
    names = [f"result_{place}" for place in range(1, 5)]
    results = tuple(values[name] for name in names if name in values)
    found = outcome_of(ledger, material, [each.c for each in results])
    made_at = values["verified_at"]
    what = [apparatus.id, material.id, made_at, *(repr(each.c) for each in results)]
    verification = Verification(
        id=f"{apparatus.id}-VL{_hash(what)[:8]}",
        apparatus=apparatus.id,
        material=material.id,
        method=material.method,
        results_c=tuple(_decimal(each.c) for each in results),
        mean_c=found.mean_c,
        reference_c=float(material.value_c),
        difference_c=found.bias_c,
        permitted_c=found.limit_c,
        in_control=found.in_control,
        verified_at=made_at,
    )
    known = any(each.id == verification.id for each in ledger.verifications.get(apparatus.id, ()))
    observed = datetime.fromisoformat(made_at)
    return Entry(
        "apparatus-verified",
        apparatus.id,
        to_body(verification),
        (number,),
        verification.id,
        observed,
        is_known=known,
    )


def _liquid(ledger: Ledger, number: int, values: Values) -> Entry:
    from closedcup.mixtures import own_liquids

    texts = {name: _as_text(value) for name, value in values.items() if name != "today"}
    (made,) = own_liquids([texts]).values()
    liquid = OwnLiquid(made.cas, texts)
    on_record = ledger.own_liquids.get(made.cas)
    return Entry(
        "own-liquid-recorded",
        made.cas,
        to_body(liquid),
        (number,),
        made.cas,
        is_known=on_record == liquid,
    )


def _as_text(value: Any) -> str:
    match value:
        case Temperature():
            return str(_decimal(value.c))
        case str() | Decimal():
            return str(value)
        case _:
            return str(_decimal(value.c))


def _compositions(ledger: Ledger, rows: Iterable[tuple[int, Values]]) -> Iterable[Outcome]:
    """Yield one entry for each sample; where one of its rows cannot be taken, none is."""
    grouped: dict[str, list[tuple[int, Values]]] = {}
    for number, values in rows:
        grouped.setdefault(values["sample"], []).append((number, values))
    for sample_id, lines in grouped.items():
        numbers = tuple(number for number, _ in lines)
        try:
            yield _composition(ledger, sample_id, numbers, [values for _, values in lines])
        except (InputError, Refused) as error:
            yield from (Fault(number, error) for number in numbers)


def _composition(
    ledger: Ledger, sample_id: str, numbers: tuple[int, ...], lines: list[Values]
) -> Entry:
    from closedcup.app.usecases.liquids.estimating import blend_of, own_on_record
    from closedcup.app.usecases.lookup import find

    sample = find(ledger.samples, sample_id, "sample")
    parts = tuple(Component(line["component"], line["fraction"]) for line in lines)
    composition = Composition(
        as_trust(lines[0].get("trust", "declared")), as_basis(lines[0].get("basis", "mass")), parts
    )
    blend_of(composition, own=own_on_record(ledger))
    return Entry(
        "composition-recorded",
        sample_id,
        to_body(composition),
        numbers,
        sample_id,
        is_known=sample.composition == composition,
    )


def _differs(what: str, identifier: str) -> InputError:
    return InputError(
        f"{what}-differs",
        f"The {what} “{identifier}” is on record with other content; it stays as it is.",
        fix="Give the row another id, or leave it out.",
    )


def _keep_days(days: Decimal | None) -> int | None:
    if days is not None and days != int(days):
        raise InputError("not-whole-days", f"{days} is not a number of days.", fix="Write 30.")
    return as_keep_days(None if days is None else int(days))


def _with(sample: Sample, **changes: Any) -> Sample:
    from dataclasses import replace

    return replace(sample, **changes)


def _decimal(number: float) -> Decimal:
    return Decimal(repr(round(number, 6))).normalize()


def _hash(content: list[Any]) -> str:
    return hashlib.sha256(canonical_bytes(content)).hexdigest()


_MAKERS: Final[dict[str, Callable[[Ledger, int, Values], Entry]]] = {
    "samples": _sample,
    "results": _outside_result,
    "verifications": _verification,
    "liquids": _liquid,
}
