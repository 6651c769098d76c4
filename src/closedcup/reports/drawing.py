"""Draws a chart's spec as SVG with the program's own typeface, fit for a strict page."""

import re
from functools import cache
from html import escape
from pathlib import Path
from typing import Any, Final
from xml.etree import ElementTree as ET

from closedcup.errors import Damaged

Spec = dict[str, Any]

FONT_FAMILY: Final = "Source Sans 3"
FONT_DIRECTORY: Final = Path(__file__).parent / "fonts"
VEGA_LITE: Final = "6.4"  # pinned: the same spec gives the same bytes


@cache
def _register_fonts() -> None:
    import vl_convert  # noqa: PLC0415  (an 80 MB library: loaded when a chart is drawn)

    vl_convert.register_font_directory(str(FONT_DIRECTORY))


_ELEMENTS: Final = frozenset(
    {"svg", "title", "desc", "g", "path", "line", "rect", "text", "tspan", "defs", "clipPath"}
)
_WORDS: Final = re.compile(r"(?<=>)[^<>]+(?=</(?:text|tspan)>)")
_HYPHEN_FOR_MINUS: Final = re.compile(r"(?<![\w.-])-(?=\d)")
_PERCENT: Final = re.compile(r"(?<=\d)%")
_FORBIDDEN_ATTRIBUTES: Final = re.compile(r"style|href|src|on[a-z]+", re.IGNORECASE)


def svg(spec: Spec) -> str:
    """Draw a spec as SVG text that may stand inside a page with a strict style policy.

    The drawing is named and described for those who do not see it, is the same text for the
    same spec, and holds shapes and words only: a style sheet, style attribute, script, picture
    or address raises Damaged. Data addresses in the spec are never fetched (ValueError).
    """
    import vl_convert  # noqa: PLC0415  (see above)

    _register_fonts()
    drawing = str(vl_convert.vegalite_to_svg(spec, vl_version=VEGA_LITE, allowed_base_urls=[]))
    title = escape(str(spec.get("usermeta", {}).get("title", "Chart")))
    description = escape(str(spec.get("description", "")))
    head, body = drawing.split(">", 1)
    head = f'{head} role="img" aria-label="{title}. {description}"'
    drawing = f"{head}><title>{title}</title><desc>{description}</desc>{body}"
    _require_plain(drawing)
    return _WORDS.sub(_typeset, drawing)


def _typeset(words: re.Match[str]) -> str:
    """Write numbers as in print: a true minus sign, and a space before the percent sign."""
    return _PERCENT.sub("\u00a0%", _HYPHEN_FOR_MINUS.sub("−", words[0]))


def _require_plain(drawing: str) -> None:
    for element in ET.fromstring(drawing).iter():  # noqa: S314  (made just above)
        name = element.tag.rpartition("}")[2]
        attributes = [key.rpartition("}")[2] for key in element.attrib]
        unwanted = [key for key in attributes if _FORBIDDEN_ATTRIBUTES.fullmatch(key)]
        if name not in _ELEMENTS or unwanted:
            raise Damaged(
                "unsafe-drawing",
                f"The drawing holds <{' '.join([name, *unwanted])}>, which a strict page forbids.",
                where="chart",
                fix="Draw the spec with shapes and words only.",
            )
