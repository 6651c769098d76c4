"""Entries made for the tests of the records."""

from closedcup.records import NewEvent


def make_entry(number: int, **changes: object) -> NewEvent:
    """Return an entry on one of three subjects; the number makes its key."""
    asked = {
        "key": f"key-{number}",
        "type": "sample-received",
        "subject": f"sample/S-{number % 3}",
        "observed_at": "2026-03-02T09:15:00+01:00",
        "by": "p-1",
        "program": "0.1.0",
        "data": "2026-03",
        "body": {"volume_ml": "40.50", "number": number},
    }
    return NewEvent(**{**asked, **changes})


# SQL that changes what was measured, on either engine
LESS_VOLUME = (
    "canonical = convert_to(replace(convert_from(canonical, 'UTF8'), '40.50', '40.40'), 'UTF8')"
)
