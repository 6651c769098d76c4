"""Review a result that a hold or a verification flags: it stands, with the reason."""

from starlette.responses import Response

from closedcup.app.usecases.lookup import find
from closedcup.app.usecases.nonconforming import holding
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit
from closedcup.app.web.samples import sample_page


def let_stand(visit: Visit) -> Response:
    """Record that a flagged result was reviewed and stands."""
    form = visit.form
    ledger = visit.opened.state
    result = find(ledger.results, visit.path("result"), "result")
    sample = ledger.tests[result.test].sample

    def put() -> None:
        reason = form.text("stands_because", required="Say what was looked at, and why it stands.")
        refuse_faulty(form)
        holding.let_stand(visit.opened, result.id, reason, key=form.key)

    return recorded(
        visit,
        put,
        lambda status: sample_page(visit, sample, faulty=f"stand-{result.id}", status=status),
        f"/samples/{sample}#test-{result.test}",
    )
