"""Draws a chart's spec as SVG with the program's own typeface, fit for a strict page."""

import re
from functools import cache
from html import escape
from pathlib import Path
from typing import Any, Final

from closedcup.errors import Damaged

Spec = dict[str, Any]

FONT_FAMILY: Final = "Source Sans 3"
FONT_DIRECTORY: Final = Path(__file__).parent / "fonts"
VEGA_LITE: Final = "6.4"  # pinned: the same spec gives the same bytes


@cache
def _register_fonts() -> None:
    import vl_convert  # noqa: PLC0415  (an 80 MB library: loaded when a chart is drawn)

    vl_convert.register_font_directory(str(FONT_DIRECTORY))


_NOT_ALLOWED: Final = re.compile(r"<style|<script|<image|\sstyle=|\son[a-z]+=|href=", re.IGNORECASE)


def svg(spec: Spec) -> str:
    """Draw a spec as SVG text that may stand inside a page with a strict style policy.

    The drawing is named and described for those who do not see it, is the same text for the
    same spec, and holds no style sheet, style attribute, script or outside address; anything of
    that kind raises Damaged.
    """
    import vl_convert  # noqa: PLC0415  (see above)

    _register_fonts()
    drawing = str(vl_convert.vegalite_to_svg(spec, vl_version=VEGA_LITE, allowed_base_urls=[]))
    title = escape(str(spec.get("usermeta", {}).get("title", "Chart")))
    description = escape(str(spec.get("description", "")))
    head, body = drawing.split(">", 1)
    head = f'{head} role="img" aria-label="{title}. {description}"'
    drawing = f"{head}><title>{title}</title><desc>{description}</desc>{body}"
    markup = re.sub(r'"[^"]*"|>[^<]*<', lambda found: "><" if found[0][0] == ">" else "", drawing)
    if found := _NOT_ALLOWED.search(markup):
        raise Damaged(
            "unsafe-drawing",
            f"The drawing holds {found[0].strip()!r}, which a strict page does not allow.",
            where="chart",
            fix="Report this with the version of the drawing library.",
        )
    return drawing
