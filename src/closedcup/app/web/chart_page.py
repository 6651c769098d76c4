"""The control chart of an apparatus, with its options; causes and limits are decided beside it."""

from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.charts import chart_decisions
from closedcup.app.usecases.charts.chart_picture import chart_picture, spread_picture
from closedcup.app.usecases.charts.charting import (
    USUAL_WEIGHT,
    Wishes,
    charted,
    typed_base,
    typed_weight,
)
from closedcup.app.usecases.charts.control_history import history_on_record
from closedcup.app.usecases.lookup import find
from closedcup.app.web.forms import Form
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.errors import ClosedcupError
from closedcup.methods import method
from closedcup.metrology import RULES, ZONE_RULES

_KINDS: Final = (
    ("individuals", "single results and moving ranges"),
    ("ewma", "moving average (EWMA)"),
    ("cusum", "cumulative sums (CUSUM)"),
    ("means-ranges", "means and ranges of repeats (X̄, R)"),
    ("means-deviations", "means and deviations of repeats (X̄, S)"),
)


def show(visit: Visit, *, faulty: str = "", status: int = 200) -> Response:
    """Show the chart of an apparatus's verifications as asked for in the address."""
    apparatus = find(visit.opened.state.apparatus, visit.path("apparatus"), "apparatus")
    made = visit.opened.state.verifications.get(apparatus.id, ())
    methods = {method(each.method).designation: each.method for each in made}
    asked = visit.query("method")
    chosen = asked or next(reversed(methods.values()), "")
    answer, refused = _charted(visit, apparatus.id, chosen)
    spread = "" if answer is None else spread_picture(answer)
    return page(
        visit,
        "chart.html",
        status=status,
        apparatus=apparatus.id,
        methods=[(identifier, name) for name, identifier in methods.items()],
        chosen=chosen,
        kinds=_KINDS,
        rules=RULES.values(),
        wished=_wished(visit),
        answer=answer,
        refused=refused,
        svg="" if answer is None else chart_picture(answer),
        spread=spread,
        points=[] if answer is None else list(reversed(answer["points"])),
        verifications=[(each.id, each.id) for each in reversed(made)],
        faulty=faulty,
        form_named=lambda name: visit.form if name == faulty else Form(),
    )


def _wished(visit: Visit) -> dict[str, Any]:
    """Return the options as typed; the zone rules where the form was not sent yet."""
    sent = visit.query("shown") == "yes"
    rules = visit.request.query_params.getlist("rule") if sent else list(ZONE_RULES)
    return {
        "kind": visit.query("kind") or "individuals",
        "rules": rules,
        "base": visit.query("base"),
        "weight": visit.query("weight"),
    }


def _charted(
    visit: Visit, apparatus: str, method_id: str
) -> tuple[dict[str, Any] | None, ClosedcupError | None]:
    """Return the chart, or why there is none."""
    wished = _wished(visit)
    try:
        history = history_on_record(visit.opened, apparatus, method_id or None)
        wishes = Wishes(
            kind=wished["kind"],
            rules=tuple(wished["rules"]),
            base=typed_base(wished["base"]) if wished["base"] else None,
            weight=typed_weight(wished["weight"]) if wished["weight"] else USUAL_WEIGHT,
        )
        return charted(history, wishes), None
    except ClosedcupError as error:
        return None, error


def assign_cause(visit: Visit) -> Response:
    """Record why a verification came out as it did."""
    form = visit.form

    def put() -> None:
        verification = form.text("verification", required="Which verification?")
        cause = form.text("cause", required="Say the cause.")
        refuse_faulty(form)
        chart_decisions.assign_cause(visit.opened, verification, cause, key=form.key)

    return recorded(
        visit, put, lambda status: show(visit, faulty="cause", status=status), _address(visit)
    )


def decide_limits(visit: Visit) -> Response:
    """Fix the limits from the verifications, with the reason."""
    form = visit.form

    def put() -> None:
        reason = form.text("limits_reason", required="Say why these limits, from now on.")
        refuse_faulty(form)
        chart_decisions.decide_limits(
            visit.opened,
            visit.path("apparatus"),
            reason,
            method_id=form.text("method") or None,
            since=form.text("since") or None,
            key=form.key,
        )

    return recorded(
        visit, put, lambda status: show(visit, faulty="limits", status=status), _address(visit)
    )


def _address(visit: Visit) -> str:
    return f"/apparatus/{visit.path('apparatus')}/chart"
