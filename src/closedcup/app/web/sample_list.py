"""The list of samples, what wants somebody soonest on top; filters; a search over everything."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final
from urllib.parse import quote, urlencode

from starlette.responses import Response

from closedcup.app.usecases.desk import finding, retention
from closedcup.app.web.forms import Form
from closedcup.app.web.recording import recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page, see
from closedcup.app.web.setting_up import steps
from closedcup.records.facts import SampleFilter

# State → (how soon it wants somebody, its symbol). What is at the bench is getting warm or cold.
STATES: Final[dict[str, tuple[int, str]]] = {
    "being tested": (0, "bench"),
    "to be reviewed": (1, "held"),
    "held": (1, "held"),
    "released": (2, "good"),
    "planned": (3, "next"),
    "test requested": (4, "next"),
    "received": (5, "next"),
    "waits for the customer": (6, "held"),
    "waits for a reviewer": (6, "held"),
    "refused by the reviewer": (7, "stop"),
    "refused by the stop list": (7, "stop"),
    "reported": (8, "good"),
    "disposed of": (9, "good"),
}
_ON_A_PAGE: Final = 50
_NEXT_WORDS: Final = {
    "request": "Request a test",
    "plan": "Make the plan",
    "review": "Record the reviewer's decision",
    "go-ahead": "Ask the customer",
    "begin": "Begin a series",
    "bench": "Continue at the bench",
    "release": "Release the result",
    "report": "Issue the report",
}
_PLACES: Final = {
    "sample": "/samples/{id}",
    "test": "/samples/{sample}#test-{id}",
    "result": "/samples/{sample}",
    "report": "/reports/{id}/document",
    "apparatus": "/apparatus/{id}",
    "reference material": "/apparatus",
    "person": "/people",
}


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is looked for, typed or by a saved filter."""

    words: str
    state: str
    overdue: bool
    urgent: bool
    name: str = ""

    @property
    def is_narrowed(self) -> bool:
        return bool(self.words or self.state or self.overdue or self.urgent)

    @property
    def address(self) -> str:
        """The address of this list, which a person may keep."""
        given = {"q": self.words, "state": self.state, "filter": self.name}
        given |= {"overdue": "yes" * self.overdue, "urgent": "yes" * self.urgent}
        return "/?" + urlencode({key: value for key, value in given.items() if value})


def _asked(visit: Visit) -> _Asked:
    name = visit.query("filter")
    typed = _Asked(
        words=visit.query("q"),
        state=visit.query("state"),
        overdue=visit.query("overdue") == "yes",
        urgent=visit.query("urgent") == "yes",
        name=name,
    )
    if not name:
        return typed
    kept: SampleFilter = finding.filter_named(visit.opened.state, name)
    return replace(
        typed,
        words=" ".join(each for each in (kept.words, typed.words) if each),
        state=typed.state or (kept.states[0] if kept.states else ""),
        overdue=typed.overdue or kept.overdue,
        urgent=typed.urgent or kept.urgent,
    )


def show(visit: Visit, *, status: int = 200) -> Response:
    """List the samples, what wants doing first on top; every searched word must occur.

    All that are unfinished come first, then the finished ones, so many to a page. The number of a
    sample, as a scanner types it from a label, leads to the sample.
    """
    opened, asked, before = visit.opened, _asked(visit), visit.query("before") or None
    if asked.words in opened.state.samples:
        return see(f"/samples/{quote(asked.words, safe='')}")
    wanted = finding.sample_query(
        opened,
        asked.words,
        states=[asked.state] if asked.state else (),
        overdue=asked.overdue,
        urgent=asked.urgent,
    )
    states = wanted.states or finding.STATES
    finished = tuple(state for state in states if state in finding.FINISHED)
    others = tuple(state for state in states if state not in finding.FINISHED)
    done, open_ones = [], []
    if finished:
        query = replace(wanted, states=finished, before=before, limit=_ON_A_PAGE)
        done = finding.listed(opened, query)
    if others and not before:
        open_ones = finding.listed(opened, replace(wanted, states=others))
    rows = [_row(line) for line in (*reversed(open_ones), *done)]
    rows.sort(key=_urgency)
    return page(
        visit,
        "samples.html",
        status=status,
        rows=rows,
        asked=asked,
        states=[("", "any state"), *((state, state) for state in finding.STATES)],
        filters=finding.saved_filters(opened),
        form=visit.form if status != 200 else Form(),
        older=done[-1]["id"] if len(done) == _ON_A_PAGE else None,
        steps=steps(opened),
    )


def _row(line: dict[str, Any]) -> dict[str, Any]:
    urgency, symbol = STATES[line["state"]]
    verb, _, what = line["next"].partition(" ")
    return line | {
        "urgency": urgency,
        "symbol": symbol,
        "next_words": _NEXT_WORDS.get(verb, ""),
        "address": f"/bench/{what}" if verb == "bench" else f"/samples/{line['id']}",
    }


def _urgency(row: Mapping[str, Any]) -> tuple[object, ...]:
    """Order: at the bench, overdue, urgent, then by what the state asks, then by the due day."""
    finished = row["state"] in finding.FINISHED
    return (
        row["urgency"] != 0,
        finished,
        not row["overdue"],
        row["priority"] != "urgent",
        row["urgency"],
        row["due"] or "9999",
    )


def save_filter(visit: Visit) -> Response:
    """Save what is looked for under a name, or drop a saved filter."""
    form = visit.form

    def record() -> None:
        name = form.text("name", required="Give it a short name.")
        refuse_faulty(form)
        if form.text("act") == "drop":
            finding.drop_filter(visit.opened, name, key=form.key)
            return
        state = form.text("state")
        finding.save_filter(
            visit.opened,
            name,
            form.text("q"),
            states=[state] if state else (),
            overdue=form.checked("overdue"),
            urgent=form.checked("urgent"),
            key=form.key,
        )

    dropped = form.text("act") == "drop"
    address = "/" if dropped else "/?" + urlencode({"filter": form.text("name")})
    return recorded(visit, record, lambda status: show(visit, status=status), address)


def search(visit: Visit) -> Response:
    """Show everything on record in which all words occur."""
    words = visit.query("q")
    hits = finding.search(visit.opened, words) if words else []
    return page(
        visit,
        "search.html",
        words=words,
        hits=[hit | {"address": _place(hit)} for hit in hits],
    )


def _place(hit: Mapping[str, Any]) -> str:
    place = _PLACES.get(hit["what"])
    if place is None:
        return ""
    return place.format(id=quote(hit["id"], safe=""), sample=quote(hit["sample"] or "", safe=""))


def disposals(visit: Visit) -> Response:
    """List the finished samples that are still there; those that may go first."""
    return page(visit, "disposals.html", rows=retention.disposal_list(visit.opened))
