"""The end of a report: what it says of itself, what it rests on, and who answers for it."""

from typing import Any, Final

from closedcup.reports.lines import fact_line, person_line
from closedcup.reports.record import Record
from closedcup.reports.record_of_meaning import Source
from closedcup.reports.wording import when

DECLARED: Final = (
    "This file is declared PDF/A-3a and PDF/UA-1 by its producer; no outside validator has "
    "checked it."
)


def statements(record: Record, sha256: str) -> list[str]:
    """Return what the report says of itself: to what it relates, its seal, its record."""
    sample = record["sample"]
    received = (
        ", as received; the customer took the sample" if sample["sampled_by"] == "customer" else ""
    )
    external = record.get("external_results") or []
    program = record["program"]
    return [
        f"The results relate only to the item tested, sample {sample['id']}{received}.",
        *[f"From an external provider: {entry}" for entry in external],
        f"Seal {record['report']['seal_number']} of the event chain: {record['report']['seal']}",
        f"SHA-256 of the attached record, which holds the same facts for machines: {sha256}",
        f"closedcup {program['version']}, reference data {program['data']}.",
        DECLARED,
    ]


def sources(record: Record) -> list[str]:
    """Return each source once, with what was taken from it."""
    listed: list[Source] = list(record["sources"])
    for entry in record["classifications"]:
        listed += [
            {**source, "value_of": f"{entry['regime']}: {source['value_of']}"}
            for source in entry["sources"]
        ]
    by_source: dict[str, list[str]] = {}
    for source in listed:
        origin = f"{source['source']} ({source['known']})"
        by_source.setdefault(origin, []).append(source["value_of"])
    return [f"{origin}: {'; '.join(dict.fromkeys(of))}" for origin, of in by_source.items()]


def signatures(record: Record) -> list[dict[str, Any]]:
    """Return who observed, signed, authorised and issued, and when."""
    report = record["report"]
    observers = dict.fromkeys(made["by"] for made in record["determinations"])
    observed = "; ".join(person_line(record, by) for by in observers)
    return [
        fact_line(record, "Observed by", "", observed),
        *[
            fact_line(
                record,
                f"Signed as {each['meaning']}",
                "",
                f"{person_line(record, each['by'])}, {when(each['signed_at'], 'signed_at')}; "
                f"entry {each['seal_number']}, seal {each['seal'][:16]}…",
            )
            for each in record.get("signatures", [])
        ],
        fact_line(record, "Authorised by", "", person_line(record, report["authorised_by"])),
        fact_line(record, "Issued by", "", person_line(record, report["issued_by"])),
        fact_line(record, "Date of issue", "", when(report["issued_at"], "report.issued_at")),
    ]
