"""Colours, type sizes and line weights of every chart, for the light and the dark page."""

from dataclasses import dataclass
from typing import Final, Literal

from closedcup.reports.drawing import FONT_FAMILY, Spec

ThemeName = Literal["light", "dark"]


@dataclass(frozen=True, slots=True)
class Theme:
    """Colours of a chart; contrast to the page is at least 3:1 for marks, 4.5:1 for words."""

    ink: str
    faint: str
    grid: str
    band: str
    flash: str
    no_flash: str
    limit: str


# Orange-red and blue of the Okabe-Ito palette (common practice for colour-blind readers), made
# lighter for the dark page.
THEMES: Final[dict[ThemeName, Theme]] = {
    "light": Theme("#1f2933", "#5f6b76", "#e6e9ec", "#f3dfb8", "#c65400", "#0067a5", "#7a1f5c"),
    "dark": Theme("#eef2f5", "#a9b4be", "#37424c", "#4d3f1f", "#ff9a4d", "#7cc4f5", "#f09ad0"),
}


def configuration(colours: Theme) -> Spec:
    """Return the `config` part of a spec: what all charts share."""
    words = {"labelColor": colours.ink, "titleColor": colours.ink}
    return {
        "font": f"'{FONT_FAMILY}'",  # in quotes: a name that ends in a number is not a CSS word
        "aria": False,  # the drawing as a whole is named and described; its parts are not
        "mark": {"aria": False},
        "background": None,
        "view": {"stroke": colours.faint},
        "range": {"category": [colours.band]},
        "axis": {
            **words,
            "labelFontSize": 14,
            "titleFontSize": 14,
            "titleFontWeight": 600,
            "gridColor": colours.grid,
            "tickColor": colours.faint,
            "domainColor": colours.faint,
        },
        "axisX": {"grid": False, "labelAngle": 0, "domain": False},
        "legend": {
            **words,
            "orient": "top",
            "labelFontSize": 14,
            "labelLimit": 0,
            "symbolSize": 170,
            "symbolOpacity": 1,
            "columnPadding": 18,
            "offset": 10,
        },
    }
