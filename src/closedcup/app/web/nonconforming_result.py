"""A result in doubt: why, what may be done, supersede it, dispute it step by step, settle that."""

from starlette.responses import Response

from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.nonconforming import disputes
from closedcup.app.usecases.nonconforming.doubts import doubts_about
from closedcup.app.usecases.results import amending
from closedcup.app.web.forms import Form
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.quantities import parse_temperature


def show(visit: Visit) -> Response:
    """Show a result with its doubts, its disputes and what may be done."""
    return _page(visit, visit.path("result"))


def _page(visit: Visit, result_id: str, *, faulty: str = "", status: int = 200) -> Response:
    opened = visit.opened
    ledger = opened.state
    result = find(ledger.results, result_id, "result")
    test, report = ledger.tests[result.test], ledger.report_on(result.id)
    superseded = ledger.superseded.get(result.id)

    def form_named(name: str) -> Form:
        return visit.form if name == faulty else Form()

    return page(
        visit,
        "nonconforming_result.html",
        status=status,
        result=overview.result_overview(opened, result.id),
        test=test,
        report=None if report is None else report.number,
        replaced_by=None if report is None else ledger.replaced_by(report.number),
        superseded=superseded,
        doubts=doubts_about(ledger, result),
        disputes=[
            disputes.dispute_overview(opened, each.id)
            for each in ledger.disputes.values()
            if each.result == result.id
        ],
        form_named=form_named,
        faulty=faulty,
    )


def told_in(text: str) -> tuple[str, ...]:
    """Return who was told, one on each line."""
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def supersede(visit: Visit) -> Response:
    """Take a result out of force, with the reason and who was told."""
    form, result_id = visit.form, visit.path("result")

    def record() -> None:
        reason = form.text("reason", required="Say why it no longer counts.")
        refuse_faulty(form)
        amending.supersede(
            visit.opened, result_id, reason, told_in(form.text("told")), key=form.key
        )

    return recorded(
        visit,
        record,
        lambda status: _page(visit, result_id, faulty="supersede", status=status),
        f"/results/{result_id}/nonconforming",
    )


def dispute(visit: Visit) -> Response:
    """Record that somebody does not accept a result."""
    form, result_id = visit.form, visit.path("result")

    def record() -> None:
        raised_by = form.text("raised_by", required="Say who does not accept it.")
        reason = form.text("objection", required="Say what is objected.")
        claimed = form.parsed(
            "claimed", lambda text: parse_temperature(text, where="their own value")
        )
        refuse_faulty(form)
        disputes.raise_dispute(visit.opened, result_id, reason, raised_by, claimed, key=form.key)

    return recorded(
        visit,
        record,
        lambda status: _page(visit, result_id, faulty="dispute", status=status),
        f"/results/{result_id}/nonconforming",
    )


def settle(visit: Visit) -> Response:
    """Settle a dispute, once no step is due."""
    form, dispute_id = visit.form, visit.path("dispute")
    result_id = find(visit.opened.state.disputes, dispute_id, "dispute").result

    def record() -> None:
        reason = form.text("ended", required="Say how it ended.")
        refuse_faulty(form)
        disputes.settle_dispute(visit.opened, dispute_id, reason, key=form.key)

    return recorded(
        visit,
        record,
        lambda status: _page(visit, result_id, faulty=f"settle-{dispute_id}", status=status),
        f"/results/{result_id}/nonconforming",
    )
