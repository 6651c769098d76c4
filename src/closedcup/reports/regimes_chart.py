"""The picture of the regimes on one line: their classes as bands, the result and its interval."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from closedcup.errors import InputError
from closedcup.reports.appearance import THEMES, Theme, ThemeName, configuration
from closedcup.reports.drawing import Spec

_WIDTH, _ROW = 600, 40
# A whole view holds every limit that the regimes set; a near one shows who owns a limit.
_WHOLE_C: Final = (-25.0, 112.0)
_LEAST_HALF_WIDTH_C: Final = 3.0
_BESIDE_C: Final = 5.0
_STRONGEST: Final = {"light": 0.62, "dark": 0.42}
_CHARACTER: Final = 7.0  # pixels of one character of 13 pixels, on average


@dataclass(frozen=True, slots=True)
class RegimeBand:
    """One class: from `low_c` to `high_c` (None: open), `severity` from 0 to 1.

    `high_limit` is the upper end in the rule's own unit; `high_belongs` says who owns it.
    """

    classification: str
    severity: float
    low_c: float | None
    high_c: float | None
    high_belongs: bool
    high_limit: str


@dataclass(frozen=True, slots=True)
class RegimeLine:
    """One regime: its name, what it answers (with the chance, in words), and its classes."""

    name: str
    answer: str
    bands: tuple[RegimeBand, ...]


@dataclass(frozen=True, slots=True)
class ShownResult:
    """The result on the corrected scale: a value or None, and the interval it lies in."""

    value_c: float | None
    low_c: float | None
    high_c: float | None
    words: str


def regimes_chart(
    lines: Sequence[RegimeLine],
    result: ShownResult,
    *,
    theme: ThemeName = "light",
    near: bool = True,
) -> Spec:
    """Return the Vega-Lite spec: the whole line above, the limits near the result below.

    All temperatures corrected to 101.3 kPa; `near` draws the second view too. Raises InputError
    where there is nothing to draw.
    """
    if not lines:
        raise InputError("nothing-to-draw", "A picture of the regimes needs at least one regime.")
    places = [c for c in (result.low_c, result.value_c, result.high_c) if c is not None]
    whole = (
        min([_WHOLE_C[0], *(c - _BESIDE_C for c in places)]),
        max([_WHOLE_C[1], *(c + _BESIDE_C for c in places)]),
    )
    views = [_drawn(_View(lines, whole, theme), result, "The whole line")]
    if places and near:
        middle = (min(places) + max(places)) / 2
        half = max(_LEAST_HALF_WIDTH_C, 0.8 * (max(places) - min(places)))
        beside = _View(lines, (middle - half, middle + half), theme)
        views.append(_drawn(beside, result, "Near the result"))
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "usermeta": {"title": "Classes of the regimes beside the result"},
        "description": _described(lines, result),
        "padding": 4,
        "vconcat": views,
        "spacing": 26,
        "config": configuration(THEMES[theme]),
    }


def chart_of_shown(shown: Mapping[str, Any], *, near: bool = True) -> Spec:
    """Return the spec of what a record (or a use-case) says of the regimes: its `regimes`."""

    def number(value: Any) -> float | None:
        return None if value is None else float(value)

    lines = [
        RegimeLine(
            line["name"],
            line["answer"],
            tuple(
                RegimeBand(
                    band["classification"],
                    float(band["severity"]),
                    number(band["low_c"]),
                    number(band["high_c"]),
                    band["high_belongs"],
                    band["high_limit"],
                )
                for band in line["bands"]
            ),
        )
        for line in shown["lines"]
    ]
    result = ShownResult(
        number(shown["value_c"]), number(shown["low_c"]), number(shown["high_c"]), shown["words"]
    )
    return regimes_chart(lines, result, near=near)


def _described(lines: Sequence[RegimeLine], result: ShownResult) -> str:
    parts = [result.words]
    for line in lines:
        spans = ", ".join(
            f"{band.classification}"
            + (
                f" {'up to' if band.high_belongs else 'below'} {band.high_limit}"
                * bool(band.high_limit)
            )
            for band in line.bands
        )
        parts.append(f"{line.name}, {line.answer}: {spans}")
    return ". ".join(parts) + "."


def _label(line: RegimeLine) -> str:
    return f"{line.name}: {line.answer}"


@dataclass(frozen=True, slots=True)
class _View:
    """A stretch of the line, and how it is drawn."""

    lines: Sequence[RegimeLine]
    span: tuple[float, float]
    theme: ThemeName

    @property
    def colours(self) -> Theme:
        return THEMES[self.theme]

    @property
    def pixels_per_c(self) -> float:
        return _WIDTH / (self.span[1] - self.span[0])

    def x(self, field: str) -> Spec:
        return {
            "field": field,
            "type": "quantitative",
            "scale": {"domain": list(self.span), "nice": False, "zero": False},
            "title": "flash point, °C (corrected to 101.3 kPa)",
        }

    def y(self) -> Spec:
        return {
            "field": "regime",
            "type": "nominal",
            "sort": None,
            "title": None,
            "scale": {"domain": [_label(line) for line in self.lines], "paddingInner": 0.12},
            "axis": {"labelLimit": 330, "domain": False, "ticks": False},
        }

    def visible(self, band: RegimeBand) -> tuple[float, float] | None:
        low = self.span[0] if band.low_c is None else max(band.low_c, self.span[0])
        high = self.span[1] if band.high_c is None else min(band.high_c, self.span[1])
        return (low, high) if low < high else None


def _drawn(view: _View, result: ShownResult, title: str) -> Spec:
    return {
        "title": {
            "text": f"{title}. {result.words}",
            "anchor": "start",
            "fontSize": 14,
            "fontWeight": 600,
            "color": view.colours.ink,
        },
        "width": _WIDTH,
        "height": _ROW * len(view.lines),
        "layer": [
            _rectangles(view),
            *_interval(view, result),
            *_value(view, result),
            _names(view),
            *_limits(view, result),
        ],
    }


def _rectangles(view: _View) -> Spec:
    rows = []
    for line in view.lines:
        for band in line.bands:
            if (seen := view.visible(band)) is not None:
                strength = 0.04 + (_STRONGEST[view.theme] - 0.04) * band.severity
                rows.append(
                    {"regime": _label(line), "low": seen[0], "high": seen[1], "strength": strength}
                )
    return {
        "data": {"values": rows},
        "mark": {
            "type": "rect",
            "color": view.colours.flash,
            "stroke": view.colours.ink,
            "strokeWidth": 0.8,
        },
        "encoding": {
            "x": view.x("low"),
            "x2": {"field": "high"},
            "y": view.y(),
            "fillOpacity": {"field": "strength", "type": "quantitative", "scale": None},
        },
    }


def _names(view: _View) -> Spec:
    """Write each class into its band, where there is room for it."""
    rows = []
    for line in view.lines:
        for band in line.bands:
            seen = view.visible(band)
            needed = _CHARACTER * len(band.classification)
            if seen and (seen[1] - seen[0]) * view.pixels_per_c > needed:
                middle = (seen[0] + seen[1]) / 2
                rows.append({"regime": _label(line), "at": middle, "text": band.classification})
    return _words(view, rows, size=13, dy=-7)


def _limits(view: _View, result: ShownResult) -> list[Spec]:
    """Write each limit with its operator, where there is room.

    Left of it as the upper end of its band; right of it as the lower end of the next where the
    line of the result would cross the words.
    """
    left, right = [], []
    for line in view.lines:
        last = view.span[0]
        for band in line.bands:
            at = band.high_c
            if at is None or not view.span[0] < at < view.span[1]:
                continue
            needed = (_CHARACTER * len(band.high_limit) + 2 * _CHARACTER) / view.pixels_per_c
            row = {"regime": _label(line), "at": at}
            if result.value_c is not None and at - needed < result.value_c <= at:
                right.append(
                    row | {"text": f"{'>' if band.high_belongs else '≥'} {band.high_limit}"}
                )
                last = at + needed
            elif at - last > needed:
                left.append(
                    row | {"text": f"{'≤' if band.high_belongs else '<'} {band.high_limit}"}
                )
                last = at
    return [
        _words(view, left, size=12, dy=9, align="right", dx=-3),
        _words(view, right, size=12, dy=9, align="left", dx=4),
    ]


def _words(view: _View, rows: list[dict[str, object]], *, size: int, **place: object) -> Spec:
    return {
        "data": {"values": rows},
        "mark": {"type": "text", "fontSize": size, "color": view.colours.ink, **place},
        "encoding": {"x": view.x("at"), "y": view.y(), "text": {"field": "text"}},
    }


def _interval(view: _View, result: ShownResult) -> list[Spec]:
    if result.low_c is None and result.high_c is None:
        return []
    low = view.span[0] if result.low_c is None else result.low_c
    high = view.span[1] if result.high_c is None else result.high_c
    return [
        {
            "data": {"values": [{"low": low, "high": high}]},
            "mark": {"type": "rect", "color": view.colours.no_flash, "opacity": 0.16},
            "encoding": {"x": view.x("low"), "x2": {"field": "high"}},
        }
    ]


def _value(view: _View, result: ShownResult) -> list[Spec]:
    if result.value_c is None:
        return []
    return [
        {
            "data": {"values": [{"at": result.value_c}]},
            "mark": {"type": "rule", "color": view.colours.no_flash, "strokeWidth": 2.5},
            "encoding": {"x": view.x("at")},
        }
    ]
