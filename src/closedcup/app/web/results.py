"""Results: issue, classify, release, report; and the two files of a report as issued."""

from starlette.responses import Response

from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.results import reporting
from closedcup.app.usecases.results import results as usecases
from closedcup.app.web.rendering import Visit, see
from closedcup.app.web.samples import refused, sample_of
from closedcup.errors import ClosedcupError, InputError
from closedcup.laboratory import Result


def _result(visit: Visit) -> Result:
    result = visit.opened.state.result_of(visit.path("test"))
    if result is None:
        raise InputError(
            "result-missing",
            f"Test {visit.path('test')} has no result yet.",
            where=f"test {visit.path('test')}",
            fix="Finish its series and issue the result first.",
        )
    return result


def issue(visit: Visit) -> Response:
    """Issue the result of a finished series."""
    sample_id, test_id = sample_of(visit), visit.path("test")
    try:
        usecases.issue_result(visit.opened, test_id, key=visit.form.key)
    except ClosedcupError as error:
        return refused(visit, sample_id, f"result-{test_id}", error)
    return see(f"/samples/{sample_id}#test-{test_id}")


def release(visit: Visit) -> Response:
    """Release the result of a test."""
    sample_id, test_id = sample_of(visit), visit.path("test")
    try:
        usecases.release_result(visit.opened, _result(visit).id, key=visit.form.key)
    except ClosedcupError as error:
        return refused(visit, sample_id, f"release-{test_id}", error)
    return see(f"/samples/{sample_id}#test-{test_id}")


def classify(visit: Visit) -> Response:
    """Classify a result anew with the properties on record now."""
    sample_id, test_id = sample_of(visit), visit.path("test")
    try:
        usecases.classify_again(visit.opened, _result(visit).id, key=visit.form.key)
    except ClosedcupError as error:
        return refused(visit, sample_id, f"classify-{test_id}", error)
    return see(f"/samples/{sample_id}#test-{test_id}")


def report(visit: Visit) -> Response:
    """Issue the report of a released result."""
    sample_id, test_id = sample_of(visit), visit.path("test")
    try:
        reporting.issue_report(visit.opened, _result(visit).id, key=visit.form.key)
    except ClosedcupError as error:
        return refused(visit, sample_id, f"report-{test_id}", error)
    return see(f"/samples/{sample_id}#test-{test_id}")


def document(visit: Visit) -> Response:
    """Send the document of a report as issued."""
    number = visit.path("report")
    content = reporting.report_document(visit.opened, number)
    return _file(visit, content, "application/pdf", "pdf")


def record(visit: Visit) -> Response:
    """Send the machine-readable record of a report as issued."""
    number = visit.path("report")
    content = reporting.report_record(visit.opened, number)
    return _file(visit, content, "application/json", "json")


def _file(visit: Visit, content: bytes, kind: str, ending: str) -> Response:
    number = find(visit.opened.state.reports, visit.path("report"), "report").number
    name = f'attachment; filename="{number}.{ending}"'
    return Response(content, media_type=kind, headers={"Content-Disposition": name})
