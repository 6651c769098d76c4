"""Compute issued results again by today's program: one that differs is a finding, never changed.

What is compared is what a formula gives: corrections, rounding, r and R, the statement. Differing
results go into the register of system failures.
"""

import hashlib
from collections.abc import Iterator
from typing import Any, Final

from closedcup import __version__
from closedcup.app.opening import DATA_VERSION, OpenLaboratory
from closedcup.app.usecases.nonconforming.failures import note_found
from closedcup.app.usecases.results.results import determined_again
from closedcup.errors import ClosedcupError
from closedcup.laboratory import Result
from closedcup.laboratory.upkeep import ResultsRecomputed
from closedcup.records.copying import Progress, no_progress
from closedcup.records.ledger import Ledger

Answer = dict[str, Any]

_COMPARED: Final = (
    "kind",
    "statement",
    "pressure_correction_c",
    "corrected_c",
    "reported_c",
    "reported_text",
    "low_corrected_c",
    "high_corrected_c",
    "repeatability_c",
    "reproducibility_c",
)
# Another machine's exponentials may differ in the last digits; no formula's change is so small
_SAME_WITHIN_C: Final = 1e-6
_NAMED: Final = 20


def recompute(
    opened: OpenLaboratory, *, everything: bool = False, progress: Progress = no_progress
) -> Answer:
    """Compute issued results again; only those issued since the last time, by the same program.

    Records that it was done, and a finding where some differ. `everything` begins at the first.
    """
    ledger = opened.permit("results-recomputed")
    last, through = ledger.recomputed, opened.store.head().seq
    goes_on = (
        last is not None
        and not everything
        and (last.program, last.data) == (__version__, DATA_VERSION)
    )
    since = last.through_event if goes_on and last is not None else 0
    ids = [
        event.subject
        for event in opened.store.read(since)
        if event.type == "result-issued" and event.seq <= through
    ]
    differing = []
    for number, result_id in enumerate(ids, start=1):
        found = _compared(opened, result_id)
        if found["differs"]:
            differing.append(found)
        progress("computing again", number, len(ids))
    done = ResultsRecomputed(
        program=__version__,
        data=DATA_VERSION,
        through_event=through,
        compared=len(ids),
        differing=tuple(each["result"] for each in differing),
    )
    if ids or not goes_on:
        opened.record("results-recomputed", "results", done)
    noted = _noted(opened, differing) if differing else {"failure": None, "not_noted": None}
    return {
        "program": done.program,
        "data": done.data,
        "since_event": since,
        "through_event": through,
        "compared": done.compared,
        "differing": differing,
        **noted,
        "passed": not differing,
    }


def _compared(opened: OpenLaboratory, result_id: str) -> Answer:
    issued = opened.state.results[result_id]
    try:
        again = determined_again(opened, issued)
    except ClosedcupError as error:
        said = [{"what": "result", "issued": issued.statement, "now": str(error)}]
    else:
        said = list(_differences(issued, again))
    return {"result": result_id, "differs": said, **_where(opened.state, issued)}


def _differences(issued: Result, again: Result) -> Iterator[Answer]:
    for name in _COMPARED:
        was, now = getattr(issued, name), getattr(again, name)
        if isinstance(was, float) and isinstance(now, float):
            is_same = abs(was - now) <= _SAME_WITHIN_C
        else:
            is_same = was == now
        if not is_same:
            yield {"what": name, "issued": was, "now": now}


def _where(ledger: Ledger, issued: Result) -> Answer:
    report = ledger.report_on(issued.id)
    return {
        "sample": ledger.tests[issued.test].sample,
        "report": None if report is None else report.number,
        "superseded": issued.id in ledger.superseded,
    }


def _noted(opened: OpenLaboratory, differing: list[Answer]) -> Answer:
    said = repr([(each["result"], each["differs"]) for each in differing])
    names = [each["result"] for each in differing]
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    return note_found(
        opened,
        f"recomputed/{hashlib.sha256(said.encode()).hexdigest()[:32]}",
        f"closedcup {__version__} gives another number than was issued for "
        f"{', '.join(names[:_NAMED])}{more}.",
        "None yet: the issued numbers stand as they are. Find out which is right; supersede those "
        "that were wrong.",
    )
