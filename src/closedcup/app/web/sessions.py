"""Who asks: the session that a cookie names, or, without accounts, who is at this PC."""

from typing import Final

from starlette.requests import Request
from starlette.responses import Response

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.people import signing_in
from closedcup.app.web.person import person_at
from closedcup.records.access_rules import access_rules

_PLAIN: Final = "session"
# A browser takes this name only from here, encrypted and for the whole site
_ENCRYPTED: Final = "__Host-session"


def recognise(request: Request, opened: OpenLaboratory, otherwise: str) -> None:
    """Let the laboratory be opened for whoever asks; for nobody where that is not proven."""
    opened.signed_in = False
    if not opened.has_accounts:
        opened.by = person_at(request, opened, otherwise)
    elif not signing_in.resume(opened, token_of(request)):
        opened.by = ""


def token_of(request: Request) -> str:
    """Return the token of the session that the browser names."""
    return request.cookies.get(_name(request), "")


def keep_session(request: Request, answer: Response, token: str) -> None:
    """Give the browser the token of a new session, out of reach of scripts and foreign pages."""
    answer.set_cookie(
        _name(request),
        token,
        max_age=access_rules().longest_minutes * 60,
        path="/",
        secure=_is_encrypted(request),
        httponly=True,
        samesite="strict",
    )


def drop_session(request: Request, answer: Response) -> None:
    """Let the browser forget its session."""
    answer.delete_cookie(
        _name(request), path="/", secure=_is_encrypted(request), httponly=True, samesite="strict"
    )


def _name(request: Request) -> str:
    return _ENCRYPTED if _is_encrypted(request) else _PLAIN


def _is_encrypted(request: Request) -> bool:
    return request.url.scheme == "https"
