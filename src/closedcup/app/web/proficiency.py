"""Proficiency rounds: the scores over time, and a form that records one more."""

from starlette.responses import Response

from closedcup.app.usecases.charts.chart_picture import scores_picture
from closedcup.app.usecases.uncertainty import proficiency
from closedcup.app.usecases.uncertainty.proficiency import Sent
from closedcup.app.web.recording import parse_day, recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.methods import methods


def show(visit: Visit, *, status: int = 200) -> Response:
    """Show the scores of all rounds, or of one person's or method's."""
    opened = visit.opened
    person, method = visit.query("person"), visit.query("method")
    answer = proficiency.history(opened, person=person or None, method_id=method or None)
    return page(
        visit,
        "proficiency.html",
        status=status,
        form=visit.form,
        answer=answer,
        svg=scores_picture(answer) if answer["results"] else "",
        chosen={"person": person, "method": method},
        people_offered=[("", "not noted"), *((e, opened.name_of(e)) for e in opened.state.people)],
        apparatus_offered=[("", "not noted"), *((each, each) for each in opened.state.apparatus)],
        methods_offered=[(each.id, f"{each.name} ({each.id})") for each in methods()],
        name_of=opened.name_of,
    )


def record(visit: Visit) -> Response:
    """Score a result of a round and put it on record."""
    form = visit.form

    def put() -> None:
        name = form.text("round", required="Name the round, as its report does.")
        held_on = form.parsed("held_on", parse_day, required="Enter the day: 2026-03-02.")
        by_method = form.text("method", required="Say by which method it was tested.")
        result_c = form.number("result_c", required="Enter what was sent.")
        assigned_c = form.number("assigned_c", required="Enter the round's assigned value.")
        deviation_c = form.number("deviation_c", required="Enter the round's σ.")
        uncertainty_c = form.number("result_uncertainty_c")
        of_assigned_c = form.number("assigned_uncertainty_c")
        refuse_faulty(form)
        if result_c is None or assigned_c is None or deviation_c is None:
            return
        sent = Sent(
            round=name,
            held_on=held_on or "",
            method=by_method,
            result_c=result_c,
            assigned_c=assigned_c,
            deviation_c=deviation_c,
            provider=form.text("provider"),
            material=form.text("material"),
            person=form.text("person"),
            apparatus=form.text("apparatus"),
            result_uncertainty_c=uncertainty_c,
            assigned_uncertainty_c=of_assigned_c,
        )
        proficiency.record_result(visit.opened, sent, key=form.key)

    return recorded(visit, put, lambda status: show(visit, status=status), "/proficiency")
