"""A process that appends events and prints each key once its event is acknowledged."""

import sys

from record_entries import make_entry

from closedcup.records import open_store

url, prefix, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
with open_store(url) as store:
    for number in range(count):
        new = make_entry(number, key=f"{prefix}-{number}")
        event = store.append(new, recorded_at="2026-03-02T08:15:07Z")
        sys.stdout.write(f"{event.key}\n")
        sys.stdout.flush()
