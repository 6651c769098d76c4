"""One labelled line of a report, and a person as a report names one."""

from typing import Any

from closedcup.reports.record import Record


def person_line(record: Record, person_id: str | None) -> str:
    """Return name and roles of a person; the id where the record names nobody."""
    for person in record["people"]:
        if person["id"] == person_id:
            return f"{person['name']}, {person['role']}"
    return person_id or "nobody"


def fact_line(record: Record, label: str, path: str, text: str | None) -> dict[str, Any]:
    """Make one labelled line; marked if the record says that the customer supplied it."""
    marked = any(path == given or path.startswith(f"{given}.")
                 for given in record["customer_supplied"])  # fmt: skip
    return {"label": label, "text": text or "not given", "customer": marked}
