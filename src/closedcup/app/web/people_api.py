"""The machine-readable pages about people: what their commands print with `--json`."""

from typing import Any, Final

from starlette.requests import Request

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.people import accounts, qualifying, signing, working_rules
from closedcup.app.web.asked import Asked


def _accounts(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return accounts.people_and_accounts(opened)


def _qualifications(opened: OpenLaboratory, request: Request) -> Any:
    return qualifying.qualifications(opened, Asked(request, "person").text("person"))


def _signatures(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return signing.signatures_under(opened, request.path_params["result"])


def _working_rules(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return working_rules.rules_in_force(opened)


ANSWERS: Final = (
    ("/accounts", _accounts),
    ("/qualifications", _qualifications),
    ("/results/{result}/sign", _signatures),
    ("/working-rules", _working_rules),
)
