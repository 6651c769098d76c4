"""The page that says why results on an apparatus's reference materials are off."""

from dataclasses import asdict
from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.diagnosis.diagnosing import diagnosed
from closedcup.app.usecases.diagnosis.diagnosis_picture import diagnosis_picture
from closedcup.app.usecases.diagnosis.reference_history import gathered_on_record
from closedcup.app.usecases.lookup import find
from closedcup.app.web.rendering import Visit, page
from closedcup.errors import ClosedcupError
from closedcup.laboratory import Verification
from closedcup.methods import methods
from closedcup.metrology.diagnosis import symptoms

_ALWAYS_SHOWN: Final = 5  # causes in the table; less likely ones stand folded below it


def show(visit: Visit) -> Response:
    """Show the ranked causes of an apparatus's verifications by one method, or why there are none.

    The table of symptoms stands beside it in any case.
    """
    ledger = visit.opened.state
    apparatus = find(ledger.apparatus, visit.path("apparatus"), "apparatus")
    made = ledger.verifications.get(apparatus.id, ())
    offered = _verified_methods(made)
    chosen = visit.query("method") or (next(iter(offered)) if offered else "")
    since = visit.query("since")
    answer, refused = _answer(visit, apparatus.id, chosen or None, since or None)
    return page(
        visit,
        "diagnosis.html",
        apparatus=apparatus,
        methods_offered=offered,
        chosen=chosen,
        since=since,
        starts_offered=[each.id for each in made],
        answer=answer,
        refused=refused,
        always_shown=_ALWAYS_SHOWN,
        picture="" if answer is None else diagnosis_picture(answer),
        symptoms=[asdict(one) for one in symptoms()],
    )


def _verified_methods(made: tuple[Verification, ...]) -> dict[str, str]:
    """Return a method's identifier and designation for each published method verified."""
    designations = {each.id: each.designation for each in methods()}
    by_designation = {designations[each.method]: each.method for each in made}
    return {method: designation for designation, method in by_designation.items()}


def _answer(
    visit: Visit, apparatus_id: str, method_id: str | None, since: str | None
) -> tuple[dict[str, Any] | None, ClosedcupError | None]:
    try:
        return diagnosed(
            gathered_on_record(visit.opened, apparatus_id, method_id, since=since)
        ), None
    except ClosedcupError as error:
        return None, error
