"""What a test report must hold before it may be issued, item by item.

The sixteen items of ISO/IEC 17025:2017, 7.8.2.1 a to p, and 7.8.2.2, 7.8.3, 7.8.6 and 7.8.8 as far
as they concern a flash point report. Each item is present, omitted with a reason given in the
record's `omitted` (by its letter, or by its clause), or does not arise. An item that is none of
these is missing, and the report is refused. The words are ours; the laboratory's own copy of the
standard decides. Clause numbers known by reading a contents list, contents from memory and
secondary sources.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from closedcup.errors import Refused
from closedcup.reports.record import Record, person_name

State = Literal["present", "omitted", "does not arise", "missing"]


@dataclass(frozen=True, slots=True)
class Item:
    """One item: `key` as used in `omitted`, its clause, what it asks for and how it stands.

    `detail` is the reason of an omission, why the item does not arise, or what to enter.
    """

    key: str
    clause: str
    name: str
    state: State
    detail: str


@dataclass(frozen=True, slots=True)
class _Rule:
    key: str
    name: str
    present: Callable[[Record], bool]
    enter: str  # what to enter when missing
    arises: Callable[[Record], bool] = lambda _record: True
    otherwise: str = ""  # why it does not arise

    @property
    def clause(self) -> str:
        return f"7.8.2.1 {self.key}" if len(self.key) == 1 else self.key


def _received_as_is(record: Record) -> bool:
    return record["sample"]["sampled_by"] == "customer"


def _conformity_asked(record: Record) -> bool:
    return record["test"]["kind"] == "limit" or record["conformity"] is not None


def _conformity_complete(record: Record) -> bool:
    statement = record["conformity"]
    return statement is not None and bool(statement["limit"] and statement["rule"])


def _replaces_another(record: Record) -> bool:
    return record["report"]["replaces"] is not None


def _amendment_told(record: Record) -> bool:
    report = record["report"]
    return bool(report["changes"]) and report["replaces"] != report["number"]


_RULES: Final = (
    _Rule("a", "title", lambda r: bool(r["report"]["title"]), "report.title"),
    _Rule(
        "b",
        "name and address of the laboratory",
        lambda r: bool(r["laboratory"]["name"] and r["laboratory"]["address"]),
        "laboratory.name and laboratory.address",
    ),
    _Rule(
        "c",
        "place where the work was done",
        lambda r: bool(r["laboratory"]["place_of_activity"]),
        "laboratory.place_of_activity",
    ),
    _Rule(
        "d",
        "unique identification on every page, and a clear end",
        lambda r: bool(r["report"]["number"]),
        "report.number",
    ),
    _Rule(
        "e",
        "name and contact of the customer",
        lambda r: bool(r["customer"]["name"] and r["customer"]["contact"]),
        "customer.name and customer.contact",
    ),
    _Rule(
        "f",
        "method used, with its edition",
        lambda r: bool(r["test"]["method_name"] and r["test"]["edition"]),
        "test.method_name and test.edition",
    ),
    _Rule(
        "g",
        "description, identity and condition of the sample",
        lambda r: all(r["sample"][key] for key in ("description", "id", "condition")),
        "sample.description, sample.id and sample.condition",
    ),
    _Rule(
        "h",
        "date received, and date sampled",
        lambda r: bool(r["sample"]["received_at"] and r["sample"]["sampled_at"]),
        "sample.received_at and sample.sampled_at",
    ),
    _Rule(
        "i",
        "date of the test",
        lambda r: (
            bool(r["determinations"]) and all(made["observed_at"] for made in r["determinations"])
        ),
        "determinations, each with observed_at",
    ),
    _Rule("j", "date of issue", lambda r: bool(r["report"]["issued_at"]), "report.issued_at"),
    _Rule(
        "k",
        "sampling plan or method",
        lambda r: bool(r["sample"]["sampling"]),
        "sample.sampling",
    ),
    _Rule(
        "l",
        "statement that the results relate only to the item tested",
        lambda r: bool(r["sample"]["id"]),  # the template prints it with the identification
        "sample.id",
    ),
    _Rule(
        "m",
        "result with its unit",
        lambda r: bool(r["result"]["reported_text"] or r["result"]["statement"]),
        "result.reported_text or result.statement",
    ),
    _Rule(
        "n",
        "deviations from the method, or that there were none",
        lambda r: all(text.strip() for text in r["result"]["deviations"]),
        "result.deviations, each in words; an empty list says that there were none",
    ),
    _Rule(
        "o",
        "who authorises the report",
        lambda r: bool(person_name(r, r["report"]["authorised_by"])),
        "report.authorised_by, with that person in people",
    ),
    _Rule(
        "p",
        "results from external providers, marked",
        lambda r: bool(r.get("external_results")),
        "external_results, or the reason in omitted: none were used",
    ),
    _Rule(
        "7.8.2.2 customer",
        "data supplied by the customer, marked",
        lambda r: bool(r["customer_supplied"]),
        "customer_supplied, or the reason in omitted: the customer supplied none",
    ),
    _Rule(
        "7.8.2.2 as received",
        "that the results apply to the sample as received",
        lambda r: bool(r["sample"]["condition"]),
        "sample.condition",
        arises=_received_as_is,
        otherwise="the laboratory took the sample",
    ),
    _Rule(
        "7.8.3 conditions",
        "conditions of the test",
        lambda r: bool(r["pressure"]["text"] and r["pressure"]["kind"]),
        "pressure.text and pressure.kind",
    ),
    _Rule(
        "7.8.3 uncertainty",
        "measurement uncertainty, or why it is not stated",
        lambda r: bool(r["result"]["uncertainty_note"]),
        "result.uncertainty_note",
    ),
    _Rule(
        "7.8.6",
        "conformity: result, limit and decision rule",
        _conformity_complete,
        "conformity.limit and conformity.rule",
        arises=_conformity_asked,
        otherwise="no statement of conformity was asked for",
    ),
    _Rule(
        "7.8.8",
        "what changed, and which report is replaced",
        _amendment_told,
        "report.changes, and a number other than the replaced one's",
        arises=_replaces_another,
        otherwise="this is the first issue",
    ),
)


def check(record: Record) -> tuple[Item, ...]:
    """Return every item and how it stands, in the order of the clauses."""
    return tuple(_judge(rule, record) for rule in _RULES)


def _judge(rule: _Rule, record: Record) -> Item:
    state: State
    reason = record["omitted"].get(rule.key, "").strip()
    if not rule.arises(record):
        state, detail = "does not arise", rule.otherwise
    elif rule.present(record):
        state, detail = "present", ""
    elif reason:
        state, detail = "omitted", reason
    else:
        state, detail = "missing", rule.enter
    return Item(rule.key, rule.clause, rule.name, state, detail)


def require_complete(record: Record) -> tuple[Item, ...]:
    """Return the items of a record that may be issued as a report.

    Raises Refused for a held result, an item neither present nor omitted with a reason, and a
    reason given for an item that does not exist.
    """
    if record["result"]["state"] != "released":
        raise Refused(
            "result-held",
            "The result is held, and a held result is not reported.",
            where=record["result"]["id"],
            fix="Release the result first.",
        )
    items = check(record)
    if unknown := set(record["omitted"]) - {item.key for item in items}:
        raise Refused(
            "unknown-item",
            f"Reasons are given for items that do not exist: {', '.join(sorted(unknown))}.",
            where="omitted",
            fix=f"Use one of: {', '.join(item.key for item in items)}.",
        )
    if missing := [item for item in items if item.state == "missing"]:
        raise Refused(
            "report-incomplete",
            "The report lacks " + "; ".join(f"{i.clause} {i.name}" for i in missing) + ".",
            where=f"report {record['report']['number']}",
            fix="Enter "
            + "; ".join(item.detail for item in missing)
            + "; or give the reason for leaving it out.",
        )
    return items
