"""Tables of everything on record, written to files that other programs read."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.benching import bench
from closedcup.app.usecases.desk.overview import result_overview, sample_overview, test_overview
from closedcup.app.usecases.desk.view import keeping_of
from closedcup.errors import InputError
from closedcup.laboratory.reference_material import use_by
from closedcup.methods import determinations
from closedcup.reports.tables import (
    Table,
    columns_of,
    format_of,
    table_names,
    write_dictionary,
    write_table,
)

Row = dict[str, Any]
Told = Callable[[int], None]
"""Told how many rows were written."""


def export_table(
    opened: OpenLaboratory, name: str, file: str, *, told: Told | None = None
) -> dict[str, Any]:
    """Write one table to a file; its name's ending says in which form.

    Beside it lies a data dictionary. A half-written file is not left behind.
    """
    if name not in table_names():
        raise InputError(
            "table-unknown",
            f"There is no table “{name}”.",
            where="export",
            fix=f"The tables are: {', '.join(table_names())}.",
        )
    path = Path(file)
    form = format_of(path)
    rows = _ROWS[name](opened)
    table = Table(name, columns_of(name), rows if told is None else _counted(rows, told))
    dictionary = path.with_name(f"{path.stem}.columns.csv")
    unfinished = path.with_name(f".{path.name}.part")
    try:
        count = write_table(table, unfinished, form)
        unfinished.replace(path)
        write_dictionary({name: table.columns}, dictionary)
    except OSError as error:
        raise InputError(
            "file-unwritable",
            f"The file could not be written: {error.strerror or error}.",
            where=str(path),
            fix="Name another place, or make room there.",
        ) from error
    finally:
        unfinished.unlink(missing_ok=True)
    return {
        "table": name,
        "rows": count,
        "file": str(path),
        "form": form,
        "columns": str(dictionary),
        "head": opened.store.head().seal,
    }


def _counted(rows: Iterator[Row], told: Told) -> Iterator[Row]:
    for number, row in enumerate(rows, start=1):
        yield row
        told(number)


def _samples(opened: OpenLaboratory) -> Iterator[Row]:
    for sample in opened.state.samples:
        seen = sample_overview(opened, sample)
        kept = keeping_of(opened, sample)
        gone = kept["disposed"]
        disposed_at = None if gone is None else gone["at"]
        yield {
            **seen,
            **kept,
            "sample": sample,
            "disposed_at": disposed_at,
        }


def _tests(opened: OpenLaboratory) -> Iterator[Row]:
    for sample in opened.state.samples:
        for test in opened.state.tests_of(sample):
            limit = test.limit
            yield {
                **test_overview(opened, test.id),
                "test": test.id,
                "limit": None if limit is None else str(limit),
                "limit_operator": None if limit is None else limit.operator,
                "limit_corrected_c": None if limit is None else limit.corrected_c,
            }


def _determinations(opened: OpenLaboratory) -> Iterator[Row]:
    for series in opened.state.series:
        view = bench(opened, series)
        for made in determinations(view.state):
            recorded = view.series.moves[made.move_index]
            yield {
                "series": series,
                "test": view.test.id,
                "sample": view.sample.id,
                "apparatus": view.apparatus.id,
                "number": made.number,
                "specimen": made.specimen,
                "specimen_ml": made.volume_ml,
                "set_cup_c": made.set_cup_c,
                "cup_c": made.cup_c,
                "dwell_s": made.dwell_s,
                "eye": str(made.eye),
                "detector": _signal(made.detector),
                "counts_as": made.counts_as,
                "status": made.status,
                "observed_by": recorded.by,
                "observed_at": recorded.observed_at,
            }


def _signal(detector: bool | None) -> str | None:
    if detector is None:
        return None
    return "flash" if detector else "no flash"


def _results(opened: OpenLaboratory) -> Iterator[Row]:
    ledger = opened.state
    for result in ledger.results.values():
        series, test = ledger.series[result.series], ledger.tests[result.test]
        report = ledger.report_on(result.id)
        seen = result_overview(opened, result.id)
        yield {
            **seen,
            "result": result.id,
            "sample": test.sample,
            "method": test.method,
            "apparatus": series.apparatus,
            "analyst": series.analyst,
            "issued_at": ledger.issued_at[result.id][0],
            "probe_correction_k": result.probe_correction_c,
            "pressure_correction_k": result.pressure_correction_c,
            "repeatability_k": result.repeatability_c,
            "reproducibility_k": result.reproducibility_c,
            "report": None if report is None else report.number,
        }


def _verifications(opened: OpenLaboratory) -> Iterator[Row]:
    ledger = opened.state
    for history in ledger.verifications.values():
        for made in history:
            material = ledger.materials.get(made.material)
            yield {
                "verification": made.id,
                "apparatus": made.apparatus,
                "material": made.material,
                "lot": None if material is None else material.lot,
                "method": made.method,
                "verified_at": made.verified_at,
                "results_c": " ".join(str(each) for each in made.results_c),
                "mean_c": made.mean_c,
                "reference_c": made.reference_c,
                "difference_k": made.difference_c,
                "permitted_k": made.permitted_c,
                "in_control": made.in_control,
            }


def _materials(opened: OpenLaboratory) -> Iterator[Row]:
    ledger = opened.state
    for material in ledger.materials.values():
        bottle = ledger.opened_materials.get(material.id)
        yield {
            "material": material.id,
            "liquid": material.liquid,
            "lot": material.lot,
            "method": material.method,
            "edition": material.edition or None,
            "value_c": material.value_c,
            "expanded_uncertainty_k": material.expanded_uncertainty_c,
            "certificate": material.certificate,
            "expires_on": material.expires_on,
            "opened_on": None if bottle is None else bottle.opened_on,
            "use_by": use_by(material, bottle) or None,
        }


def _apparatus(opened: OpenLaboratory) -> Iterator[Row]:
    ledger = opened.state
    for each in ledger.apparatus.values():
        probe = ledger.probes.get(each.id)
        yield {
            "apparatus": each.id,
            "description": each.description,
            "serial": each.serial,
            "location": each.location,
            "methods": " ".join(each.methods),
            "lowest_cup_c": each.lowest_cup_c,
            "highest_cup_c": each.highest_cup_c,
            "igniter": each.igniter,
            "probe_correction_k": None if probe is None else probe.correction_c,
        }


def _events(opened: OpenLaboratory) -> Iterator[Row]:
    from closedcup.records import canonical_bytes

    for event in opened.store.read():
        yield {
            "number": event.seq,
            "type": event.type,
            "subject": event.subject,
            "observed_at": event.observed_at,
            "recorded_at": event.recorded_at,
            "by": event.by,
            "reason": event.reason,
            "program": event.program,
            "seal": event.seal,
            "body": canonical_bytes(dict(event.body)).decode(),
        }


_ROWS: Final[dict[str, Callable[[OpenLaboratory], Iterator[Row]]]] = {
    "samples": _samples,
    "tests": _tests,
    "determinations": _determinations,
    "results": _results,
    "verifications": _verifications,
    "reference-materials": _materials,
    "apparatus": _apparatus,
    "events": _events,
}
