"""Read a file, tell every row's fate, and take in what is wanted, all together or not at all."""

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from closedcup.app.opening import Entered, OpenLaboratory
from closedcup.app.usecases.importing.entries import Entry, Fault, Outcome, entries_of
from closedcup.app.usecases.importing.fields import fields_of
from closedcup.app.usecases.importing.mapping import values_of
from closedcup.app.usecases.importing.table_file import SourceTable
from closedcup.errors import InputError, Refused
from closedcup.records.facts import ImportedFile, ImportMapping

Answer = dict[str, Any]
Told = Callable[[str, int, int], None]

# A file up to this size is kept beside what was read from it
_KEPT_AT_MOST: Final = 64 << 20
_TELL_EVERY: Final = 500
_SHOWN: Final = 3


@dataclass(frozen=True, slots=True)
class Read:
    """A file as read: its table, the mapping it is read by, what becomes of its rows."""

    path: Path
    mapping: ImportMapping
    table: SourceTable
    outcomes: tuple[Outcome, ...]

    @property
    def new(self) -> list[Entry]:
        """What is not on record yet."""
        return [each for each in self.outcomes if isinstance(each, Entry) and not each.is_known]

    @property
    def faults(self) -> list[Fault]:
        """The rows that cannot be taken."""
        return [each for each in self.outcomes if isinstance(each, Fault)]


def sha256_of(path: Path) -> str:
    """Return the hash of a file of any size."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def no_one(_doing: str, _done: int, _all: int) -> None:
    """Tell nobody."""


def read_through(
    opened: OpenLaboratory,
    path: Path,
    table: SourceTable,
    mapping: ImportMapping,
    told: Told = no_one,
) -> Read:
    """Read every row by a mapping; nothing is recorded."""
    faults: list[Fault] = []
    values = _readable(opened, table, mapping, faults, told)
    outcomes = [*entries_of(mapping.kind, opened.state, values)]
    outcomes += faults
    outcomes.sort(key=lambda each: each.row if isinstance(each, Fault) else each.rows[0])
    return Read(path, mapping, table, tuple(outcomes))


def _readable(
    opened: OpenLaboratory,
    table: SourceTable,
    mapping: ImportMapping,
    faults: list[Fault],
    told: Told,
) -> Iterator[tuple[int, Any]]:
    now, last = opened.clock(), len(table.rows)
    for done, row in enumerate(table.rows, start=1):
        if done % _TELL_EVERY == 0:
            told("reading", done, last)
        try:
            values = values_of(mapping, row, now)
        except (InputError, Refused) as error:
            faults.append(Fault(row.number, error))
        else:
            yield row.number, values | {"today": now.isoformat()}


def take_in(
    opened: OpenLaboratory, read: Read, *, good_rows_only: bool, told: Told = no_one
) -> Answer:
    """Record what is new, together with the file it came from; all or nothing.

    Raises Refused where a row cannot be taken, unless only the good rows are wanted. Rows that are
    on record already change nothing, so a file can be taken in again.
    """
    if read.faults and not good_rows_only:
        first = read.faults[0]
        raise Refused(
            "rows-unfit",
            f"{len(read.faults)} of {len(read.table.rows)} rows cannot be taken, the first is row "
            f"{first.row}: {first.error}",
            where=str(read.path),
            fix="Mend them, or take the good rows only: --good-rows-only. Nothing was recorded.",
        )
    size, sha256 = read.path.stat().st_size, sha256_of(read.path)
    answer = summary(read)
    if not read.new:
        return answer | {"recorded": 0, "sha256": sha256}
    is_kept = size <= _KEPT_AT_MOST
    if is_kept:
        opened.store.attach(read.path.name, read.path.read_bytes())
    file = ImportedFile(
        name=read.path.name,
        sha256=sha256,
        size=size,
        is_kept=is_kept,
        mapping=read.mapping,
        new=answer["new"],
        known=answer["known"],
        refused=answer["refused"],
    )
    told("recording", 0, len(read.new))
    where = f"{read.path.name}, SHA-256 {sha256[:16]}…"
    opened.record_many([*_entered(read.new, where), Entered("file-imported", sha256, file)])
    told("recording", len(read.new), len(read.new))
    return answer | {"recorded": len(read.new), "sha256": sha256}


def _entered(entries: Iterable[Entry], where: str) -> Iterator[Entered]:
    for entry in entries:
        rows = ", ".join(map(str, entry.rows[:20])) + (" …" if len(entry.rows) > 20 else "")
        yield Entered(
            entry.type,
            entry.subject,
            entry.body,
            key=entry.key,
            observed_at=entry.observed_at,
            reason=f"read from {where}, row {rows}",
        )


def summary(read: Read) -> Answer:
    """Return what a file holds as read: the mapping, how many rows, what would become of them."""
    known = sum(
        len(each.rows) for each in read.outcomes if isinstance(each, Entry) and each.is_known
    )
    return {
        "file": str(read.path),
        "kind": read.mapping.kind,
        "rows": len(read.table.rows),
        "new": sum(len(each.rows) for each in read.new),
        "known": known,
        "refused": len(read.faults),
        "notices": list(read.table.notices),
        "decimal_mark": read.mapping.decimal_mark or None,
        "date_order": read.mapping.date_order or None,
        "encoding": read.table.encoding or None,
        "sheet": read.table.sheet or None,
        "columns": [
            {
                "field": field.name,
                "column": read.mapping.columns.get(field.name),
                "unit": read.mapping.units.get(field.name),
                "required": field.required,
                "has_unit": field.has_unit,
                "meaning": field.meaning,
                "cells": _first_cells(read, field.name),
            }
            for field in fields_of(read.mapping.kind)
        ],
        "unused": [
            each for each in read.table.headings if each not in read.mapping.columns.values()
        ],
    }


def _first_cells(read: Read, field: str) -> list[str]:
    heading = read.mapping.columns.get(field)
    if heading is None:
        return []
    return [str(row.cells.get(heading, "")) for row in read.table.rows[:_SHOWN]]


def fates(read: Read) -> Iterator[Answer]:
    """Yield every row's fate: new, on record already, or refused and why."""
    for each in read.outcomes:
        if isinstance(each, Fault):
            said = each.error
            yield {
                "row": each.row,
                "fate": "refused",
                "what": said.what,
                "where": said.where,
                "fix": said.fix,
            }
            continue
        for row in each.rows:
            fate = "on record already" if each.is_known else "new"
            yield {"row": row, "fate": fate, "what": each.identity, "where": "", "fix": ""}
