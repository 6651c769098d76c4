"""The machine-readable pages about the desk: what its commands print with `--json`."""

from typing import Any, Final

from starlette.requests import Request

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.desk import finding, retention, view
from closedcup.app.web.asked import Asked
from closedcup.errors import InputError


def _samples(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "q", "state", "overdue", "urgent", "limit", "filter")
    query = finding.asked_query(
        opened,
        asked.text("q") or "",
        states=asked.each("state"),
        overdue=asked.yes("overdue"),
        urgent=asked.yes("urgent"),
        limit=asked.read("limit", _whole_number),
        saved=asked.text("filter"),
    )
    return finding.listed(opened, query)


def _search(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "q", "limit")
    limit = asked.read("limit", _whole_number)
    return finding.search(opened, asked.needed("q", "solvent"), limit=limit or 50)


def _keeping(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return view.keeping_of(opened, request.path_params["sample"])


def _disposals(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return retention.disposal_list(opened)


def _filters(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return finding.saved_filters(opened)


def _whole_number(text: str) -> int:
    if not text.isdecimal():
        raise InputError("limit-impossible", f"“{text}” is no number.", where="limit", fix="50")
    return int(text)


ANSWERS: Final = (
    ("/samples", _samples),
    ("/samples/{sample}/keeping", _keeping),
    ("/search", _search),
    ("/disposals", _disposals),
    ("/filters", _filters),
)
