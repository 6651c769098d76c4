"""What both faces ask for: look at a file, take it in, keep a mapping."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.importing.fields import fields_of
from closedcup.app.usecases.importing.mapping import corrected, guessed, refuse_unfit
from closedcup.app.usecases.importing.run import (
    Read,
    Told,
    fates,
    no_one,
    read_through,
    summary,
    take_in,
)
from closedcup.app.usecases.importing.table_file import open_table
from closedcup.app.usecases.lookup import find
from closedcup.errors import InputError
from closedcup.records.facts import ImportMapping

Answer = dict[str, Any]


def look_at(
    opened: OpenLaboratory,
    kind: str,
    file: str,
    *,
    kept: str = "",
    columns: Sequence[str] = (),
    units: Sequence[str] = (),
    decimal: str = "",
    dates: str = "",
    encoding: str = "",
    sheet: str = "",
    with_rows: bool = True,
    told: Told = no_one,
) -> Read:
    """Read a file through by a guessed or a kept mapping, corrected by what is said of it.

    Nothing is recorded. Without rows only headings and first cells are looked at, so that a mapping
    can be mended. Raises InputError for a file that cannot be read at all, or in which nothing
    fills what is needed.
    """
    fields_of(kind)
    known = None if not kept else kept_mapping(opened, kept, kind)
    table = open_table(
        Path(file),
        encoding=encoding or ("" if known is None else known.encoding),
        sheet=sheet or ("" if known is None else known.sheet),
    )
    mapping = corrected(
        known or guessed(kind, table),
        columns=columns,
        units=units,
        decimal=decimal,
        dates=dates,
    )
    if not with_rows:
        return Read(Path(file), mapping, table, ())
    refuse_unfit(mapping, table)
    return read_through(opened, Path(file), table, mapping, told)


def kept_mapping(opened: OpenLaboratory, name: str, kind: str) -> ImportMapping:
    """Return a mapping that was kept under a name; InputError where it is of another kind."""
    mapping = find(opened.state.import_mappings, name, "mapping")
    if mapping.kind != kind:
        raise InputError(
            "mapping-of-other-kind",
            f"The mapping “{name}” is for {mapping.kind}, not for {kind}.",
            where="mapping",
            fix=f"Import {mapping.kind}, or keep one for {kind} with --keep-mapping.",
        )
    return mapping


def keep_mapping(opened: OpenLaboratory, name: str, read: Read) -> None:
    """Keep the mapping by which a file was read, under a name."""
    if opened.state.import_mappings.get(name) != read.mapping:
        opened.record("import-mapping-kept", name, read.mapping)


def import_file(
    opened: OpenLaboratory, read: Read, *, good_rows_only: bool, told: Told = no_one
) -> Answer:
    """Record what is new of a file that was read through; see `take_in`."""
    return {**take_in(opened, read, good_rows_only=good_rows_only, told=told), "dry_run": False}


def dry_run(read: Read) -> Answer:
    """Return what a file would record, with every row's fate."""
    return {**summary(read), "recorded": 0, "dry_run": True, "fates": list(fates(read))}
