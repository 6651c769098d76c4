"""Answers about nonconforming work to programs, with the keys of the commands."""

from typing import Any, Final

from starlette.requests import Request

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.nonconforming import disputes, failures, holding
from closedcup.app.usecases.records import backups
from closedcup.app.usecases.results import amending
from closedcup.app.web.asked import Asked


def _holds(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return holding.holds(opened)


def _failures(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return failures.failures(opened)


def _reports(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return amending.reports(opened)


def _dispute(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return disputes.dispute_overview(opened, request.path_params["dispute"])


def _backups(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return backups.backups_on_record(opened)


ANSWERS: Final = (
    ("/holds", _holds),
    ("/failures", _failures),
    ("/reports", _reports),
    ("/disputes/{dispute}", _dispute),
    ("/backups", _backups),
)
