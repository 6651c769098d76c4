"""What keeps our pages from being used by any other page: hosts, origins, headers.

The server listens on the loopback address, or under names that were given to it. A foreign page
can still make the browser send requests here, so the name it used (DNS rebinding) and where a
form came from (request forgery) are checked before anything is read. Who may do what is asked
elsewhere. OWASP ASVS 5.0.0: 3.4.1, 3.4.3, 3.4.4, 3.4.6, 3.5.1, 3.5.3, 14.3.2.
"""

import re
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from closedcup.app.usecases.results.keeping_files import LARGEST_BYTES

_POLICY: Final = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self'",
    "font-src": "'self'",
    "connect-src": "'self'",
    "form-action": "'self'",
    "base-uri": "'none'",
    "frame-ancestors": "'none'",
}
CONTENT_SECURITY_POLICY: Final = "; ".join(f"{what} {where}" for what, where in _POLICY.items())

# The referrer stays inside this site; with "no-referrer" a browser would send “Origin: null”
# with our own forms.
_HEADERS: Final = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
_TRANSPORT: Final = "max-age=31536000"
_METHODS: Final = frozenset({"GET", "HEAD", "POST"})
LARGEST_FORM_BYTES: Final = 64 * 1024
LARGEST_UPLOAD_BYTES: Final = LARGEST_BYTES + LARGEST_FORM_BYTES
_UPLOADS: Final = re.compile(r"/results/[^/]+/files|/bench/[^/]+/trace|/lists")


@dataclass(frozen=True, slots=True)
class Place:
    """Under which names the pages are reached, and whether encrypted."""

    names: frozenset[str]
    encrypted: bool = False

    @property
    def scheme(self) -> str:
        """The scheme of the pages' addresses."""
        return "https" if self.encrypted else "http"


THIS_PC: Final = Place(frozenset({"127.0.0.1", "localhost", "[::1]"}))


class Guard:
    """Refuse what does not come from our own pages; put headers on every answer."""

    def __init__(self, app: ASGIApp, place: Place = THIS_PC) -> None:
        self._app = app
        self._place = place

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                _add_headers(headers, str(scope["path"]))
                if self._place.encrypted:
                    headers["Strict-Transport-Security"] = _TRANSPORT
            await send(message)

        asked = str(scope["method"]), str(scope["path"]), Headers(scope=scope)
        refused = refusal(*asked, self._place)
        if refused is None:
            await self._app(scope, receive, send_with_headers)
        else:
            status, words = refused
            await PlainTextResponse(words + "\n", status)(scope, receive, send_with_headers)


def _add_headers(headers: MutableHeaders, path: str) -> None:
    for name, value in _HEADERS.items():
        headers[name] = value
    headers["Cache-Control"] = "no-cache" if path.startswith("/static/") else "no-store"


def refusal(
    method: str, path: str, headers: Headers, place: Place = THIS_PC
) -> tuple[int, str] | None:
    """Return status and words when a request must not be answered, None when it may."""
    host = headers.get("host", "")
    if _name_of(host) not in place.names:
        known = " or ".join(f"{place.scheme}://{name}" for name in sorted(place.names))
        return 421, f"This program does not answer under that name; open it as {known}."
    if method not in _METHODS:
        return 405, "Only GET and POST are answered here."
    if method != "POST":
        return None
    if not _is_own_form(headers, host, place.scheme):
        return 403, "An entry is accepted only from this program's own pages."
    length = headers.get("content-length", "")
    largest = LARGEST_UPLOAD_BYTES if is_upload(path) else LARGEST_FORM_BYTES
    if not length.isdigit() or int(length) > largest:
        return 413, f"This may have at most {largest} bytes."
    return None


def is_upload(path: str) -> bool:
    """Say whether a form sent to this address may bring a file."""
    return _UPLOADS.fullmatch(path) is not None


def _name_of(host: str) -> str:
    """Return the host without its port."""
    return host[: host.rfind("]") + 1] if host.startswith("[") else host.partition(":")[0]


def _is_own_form(headers: Headers, host: str, scheme: str) -> bool:
    """Say whether a form was sent by a page of the same scheme, name and port.

    Browsers send `Origin` with every POST, and `Sec-Fetch-Site` to this PC or encrypted; a
    request that has neither is no browser's and is refused too.
    """
    site = headers.get("sec-fetch-site")
    origin = headers.get("origin")
    if site is not None and site != "same-origin":
        return False
    if origin is not None:
        parts = urlsplit(origin)
        return parts.scheme == scheme and parts.netloc == host
    return site == "same-origin"
