"""Pages from templates: everything a person typed is escaped; moments and numbers are written."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from closedcup import __version__
from closedcup.app.opening import OpenLaboratory
from closedcup.app.web.forms import Form
from closedcup.app.web.places import PLACES, beside
from closedcup.errors import ClosedcupError, Conflict, Damaged, Refused
from closedcup.records import UnknownOutcome
from closedcup.records.access_rules import access_rules

_MINUS = re.compile(r"(?<![\w-])-(?=\d)")
_DEGREES = re.compile(r"(?<=\d )deg([CF])\b")
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:°C|°F|kPa|hPa|mmHg|mL|mm|min|s|%)(?![\w]))")
NO_BREAK = "\u00a0"
"""The space between a number and its unit, which stay on one line."""
_UNITS = {
    "_mm2_s": "mm²/s",
    "_mass_percent": "% by mass",
    "_volume_percent": "% by volume",
    "_percent": "%",
    "_mm": "mm",
    "_c": "°C",
    "_s": "s",
    "_l": "L",
}
HTMX_CONFIG = "includeIndicatorCSS:false history:false extensions:none defaultTimeout:15000"
"""htmx adds no style sheet of its own, keeps no pages, takes no extension, waits 15 s."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One request with everything that is needed to answer it."""

    request: Request
    opened: OpenLaboratory
    form: Form = field(default_factory=Form)

    @property
    def is_swap(self) -> bool:
        """Whether the page asks for its part only, to swap it in."""
        return self.request.headers.get("hx-request") == "true"

    def path(self, name: str) -> str:
        """Return a part of the address by its name."""
        return str(self.request.path_params[name])

    def query(self, name: str) -> str:
        """Return a search parameter, empty when it is not there."""
        return self.request.query_params.get(name, "").strip()


def page(visit: Visit, template: str, *, status: int = 200, **facts: Any) -> Response:
    """Answer with a page."""
    site, by = visit.opened.named_site, visit.opened.by
    text = (
        _environment()
        .get_template(template)
        .render(
            facts
            | {
                "site": site,
                "analyst": visit.opened.name_of(by) if by else "",
                "signed_in": visit.opened.signed_in,
                "version": __version__,
                "htmx_config": HTMX_CONFIG,
                "here": visit.request.url.path,
                "places": PLACES,
                "beside": beside(visit.request.url.path),
            }
        )
    )
    return HTMLResponse(text, status)


def see(address: str) -> Response:
    """Answer a form with the page that shows what was recorded."""
    return RedirectResponse(address, 303)


def status_of(error: ClosedcupError, path: Mapping[str, Any] | None = None) -> int:
    """Return the status of an answer that is an error; 404 when the address names nothing."""
    if error.kind.removesuffix("-unknown") in (path or {}):
        return 404
    match error:
        case Conflict():
            return 409
        case Refused():
            return 422
        case UnknownOutcome():
            return 503
        case Damaged():
            return 500
        case _:
            return 400


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("closedcup.app.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    environment.filters |= {
        "degrees": degrees,
        "signed": signed,
        "plain": plain,
        "moment": moment,
        "clock": clock,
        "minus": minus,
        "property": property_words,
        "short": short,
        "unit": unit,
        "quantity": quantity,
        "capitalize_first": capitalize_first,
    }
    environment.globals["password_least"] = access_rules().password_least
    return environment


def plain(value: float | Decimal, decimals: int = 1) -> str:
    """Write a number as typed, or a computed one with some decimals; a true minus sign."""
    text = str(value) if isinstance(value, Decimal) else f"{value:z.{decimals}f}"
    return text.replace("-", "−")


def degrees(value: float | Decimal | None, decimals: int = 1) -> str:
    """Write a temperature with its unit; a dash where there is none."""
    return "–" if value is None else f"{plain(value, decimals)}{NO_BREAK}°C"


def signed(value: float | Decimal | None, decimals: int = 2) -> str:
    """Write a correction with its sign and unit."""
    if value is None:
        return "none on record"
    return f"{value:+z.{decimals}f}{NO_BREAK}°C".replace("-", "−")


def moment(text: str) -> str:
    """Write a moment as date and time of the place where it was recorded."""
    return f"{datetime.fromisoformat(text):%Y-%m-%d %H:%M}"


def clock(value: str | datetime | None) -> str:
    """Write the time of day to the second."""
    if value is None:
        return ""
    when = datetime.fromisoformat(value) if isinstance(value, str) else value
    return f"{when:%H:%M:%S}"


def minus(text: str) -> str:
    """Write the minus signs and degrees inside a sentence, and keep each number with its unit."""
    return _BEFORE_UNIT.sub(NO_BREAK, _MINUS.sub("−", _DEGREES.sub(r"°\1", text)))


def property_words(name: str) -> str:
    """Write a property's keyword as words with its unit: boiling_c is “boiling, °C”."""
    for ending, unit in _UNITS.items():
        if name.endswith(ending):
            return f"{name.removesuffix(ending).replace('_', ' ')}, {unit}"
    return name.replace("_", " ")


def short(value: float) -> str:
    """Write a number with the digits that it needs; a true minus sign."""
    return f"{value:g}".replace("-", "−")


def unit(name: str) -> str:
    """Write a unit for a person; a pure number has none."""
    return "" if name == "1" else name.replace("degC", "°C").replace("1/min", "/min")


def quantity(one: Mapping[str, Any]) -> str:
    """Write a method's number with its unit."""
    return f"{short(one['value'])}{NO_BREAK}{unit(one['unit'])}".strip()


def capitalize_first(text: str) -> str:
    """Begin a sentence with a capital and leave the rest as it is."""
    return text[:1].upper() + text[1:]
