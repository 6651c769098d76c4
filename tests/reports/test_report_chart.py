"""The picture: flash and no flash differ without colour, the scales keep apart, the SVG is safe."""

import json
import re
from xml.etree import ElementTree as ET

import pytest

from closedcup.errors import Damaged, InputError
from closedcup.reports import Point, determinations_chart, record_chart, svg
from closedcup.reports.appearance import THEMES

_POINTS = (
    Point(1, "40.0", "no flash"),
    Point(2, "45.0", "flash"),
    Point(3, "41.0", "void", used=False),
    Point(4, "41.0", "no flash"),
)
_WHOLE = {
    "correction_c": 4.2,
    "bracket_cup_c": (41.0, 45.0),
    "reported_c": "49.0",
    "limit_c": 60.0,
    "limit_text": "< 60 °C",
    "next_cup_c": 42.0,
}


def _texts(drawing):
    return [
        "".join(node.itertext())
        for node in ET.fromstring(drawing).iter()
        if node.tag.endswith("}text")
    ]


def _marks(drawing):
    """Shape (its path without numbers), filling and outline of each drawn determination."""
    group = re.search(
        r'<g class="mark-symbol role-mark[^>]*>(?!<path[^>]*opacity="0")(.*?)</g>', drawing
    )
    paths = re.findall(r"<path ([^>]*)/>", group[1])
    return [dict(re.findall(r'([\w-]+)="([^"]*)"', path)) for path in paths]


def _shape(mark):
    return re.sub(r"[\d.,-]+", "", mark["d"])


def test_kinds_differ_in_shape_and_filling_not_only_in_colour():
    no_flash, flash, void, again, following = _marks(svg(determinations_chart(_POINTS, **_WHOLE)))
    assert len({_shape(mark) for mark in (no_flash, flash, following)}) == 3
    assert _shape(void) not in {_shape(mark) for mark in (no_flash, flash, following)}
    assert no_flash.get("fill", "none") == "none"  # the drawing as a whole has no filling
    assert flash["fill"] == flash["stroke"]
    assert again == no_flash | {"transform": again["transform"]}
    assert float(void["opacity"]) < float(flash["opacity"])


def test_words_name_every_kind_the_lines_and_both_scales():
    texts = _texts(svg(determinations_chart(_POINTS, **_WHOLE)))
    for words in (
        "flash",
        "no flash",
        "void",
        "next",
        "highest no flash to lowest flash",
        "limit < 60 °C",
        "reported 49.0 °C",
        "cup shows, °C",
        "corrected to 101.3 kPa, °C",
        "45.0",
        "(41.0)",
    ):
        assert words in texts


def test_the_right_axis_is_the_left_one_plus_the_correction():
    spec = determinations_chart(_POINTS, correction_c=4.2)
    left, right = (layer["encoding"]["y"] for layer in spec["layer"][:2])
    assert left["scale"] == right["scale"]
    shown = [value + 4.2 for value in right["axis"]["values"]]
    assert shown == pytest.approx([round(value) for value in shown])
    assert "+ (4.2)" not in json.dumps(left)
    assert "+ (4.2)" in right["axis"]["labelExpr"]


def test_a_limit_stands_on_the_cup_scale_at_limit_minus_correction():
    spec = determinations_chart(_POINTS, correction_c=4.2, limit_c=60.0)
    rule = next(layer for layer in spec["layer"] if layer["mark"]["type"] == "rule")
    assert rule["data"]["values"][0]["cup_c"] == pytest.approx(55.8)


@pytest.mark.parametrize("given", [{"limit_c": 60.0}, {"reported_c": "49.0"}])
def test_a_corrected_temperature_without_the_correction_is_refused(given):
    with pytest.raises(InputError, match="correction"):
        determinations_chart(_POINTS, **given)


def test_nothing_to_draw_is_said():
    with pytest.raises(InputError):
        determinations_chart(())


@pytest.mark.parametrize("theme", THEMES)
def test_the_drawing_fits_a_page_with_a_strict_style_policy(theme):
    drawing = svg(determinations_chart(_POINTS, **_WHOLE, theme=theme))
    root = ET.fromstring(drawing)
    assert root.get("role") == "img"
    assert root.get("aria-label").startswith("Determinations against temperature. ")
    for node in root.iter():
        assert node.tag.rpartition("}")[2] in {
            "svg",
            "g",
            "path",
            "line",
            "text",
            "tspan",
            "title",
            "desc",
        }
        assert not {"style", "href", "onload", "onclick"} & {
            key.rpartition("}")[2] for key in node.attrib
        }


def test_words_from_outside_cannot_become_markup():
    limit = '<style>*{}</style><script>x</script>" onload="x'
    drawing = svg(determinations_chart(_POINTS, correction_c=4.2, limit_c=50.0, limit_text=limit))
    assert f"limit {limit}" in _texts(drawing)
    assert not [n for n in ET.fromstring(drawing).iter() if n.tag.endswith(("style", "script"))]


def test_a_drawing_with_an_outside_address_is_refused():
    spec = determinations_chart(_POINTS)
    spec["layer"] = [
        {"data": {"values": [{}]}, "mark": {"type": "text", "href": "https://page.invalid"}}
    ]
    with pytest.raises(Damaged, match="href"):
        svg(spec)
    spec["layer"] = [{"data": {"url": "https://data.invalid/x.json"}, "mark": "point"}]
    with pytest.raises(ValueError, match=r"data\.invalid"):
        svg(spec)


def test_many_determinations_still_make_a_chart_without_crowding():
    points = [Point(n, 30 + n % 5, "flash" if n % 5 == 4 else "no flash") for n in range(1, 40)]
    texts = _texts(svg(determinations_chart(points)))
    assert "39" in texts
    assert len(texts) < 39 + 20


def test_the_description_says_what_the_picture_shows(record):
    words = record_chart(record)["description"].replace("\u00a0", " ")
    assert "5: 42.0 °C void, not used" in words
    assert "Highest no flash 42.0 °C, lowest flash 42.5 °C" in words
    assert "limit ≥ 38 °C" in words


def test_readings_on_two_scales_are_not_drawn_on_one_axis(record):
    record["determinations"][0]["already_corrected"] = {"pressure": "84.6 kPa", "by": "A-1"}
    with pytest.raises(InputError) as refusal:
        record_chart(record)
    assert refusal.value.kind == "scales-mixed"


def _contrast(first, second):
    def luminance(colour):
        channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.outside(source="WCAG 2.2, contrast ratio (1.4.3 and 1.4.11)", known="memory")
@pytest.mark.parametrize(("name", "page"), [("light", "#ffffff"), ("dark", "#12181d")])
def test_colours_are_seen(name, page):
    theme = THEMES[name]
    for words in (theme.ink, theme.limit):
        assert _contrast(words, page) >= 4.5
        assert _contrast(words, theme.band) >= 4.5
    for mark in (theme.flash, theme.no_flash, theme.faint):
        assert _contrast(mark, page) >= 3
    for mark in (theme.flash, theme.no_flash):
        assert _contrast(mark, theme.band) >= 3
