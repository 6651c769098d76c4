"""Contrast of the pages' colours, computed from the style sheet (WCAG 2.2, 1.4.3, 1.4.11)."""

import re
from dataclasses import asdict
from importlib.resources import files

import pytest

from closedcup.reports.appearance import THEMES

STATIC = files("closedcup.app.web") / "static"
BASE = (STATIC / "base.css").read_text(encoding="utf-8")
WORDS = [
    *((ink, ground) for ink in ("ink", "faint", "accent") for ground in ("paper", "surface")),
    *((f"on-{kind}", kind) for kind in ("accent", "flash", "warn", "alert", "good")),
    ("no-flash", "surface"),
    ("flash", "surface"),
    ("on-alert", "surface"),
]
EDGES = [("edge", "surface"), ("edge", "paper"), ("accent", "paper")]


def colours(scheme: str) -> dict[str, str]:
    dark = BASE.index("@media (prefers-color-scheme: dark)")
    light = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", BASE[:dark]))
    return (
        light
        if scheme == "light"
        else light | dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", BASE[dark:]))
    )


def luminance(colour: str) -> float:
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(share * c for share, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.outside(source="WCAG 2.2, contrast ratio: black on white is 21 : 1", known="read")
def test_the_ratio_itself() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("ink", "ground"), WORDS)
def test_words_are_readable(scheme: str, ink: str, ground: str) -> None:
    palette = colours(scheme)
    assert contrast(palette[ink], palette[ground]) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("edge", "ground"), EDGES)
def test_edges_are_seen(scheme: str, edge: str, ground: str) -> None:
    palette = colours(scheme)
    assert contrast(palette[edge], palette[ground]) >= 3


@pytest.mark.parametrize("use", ["fill", "stroke"])
@pytest.mark.parametrize("name", asdict(THEMES["light"]))
def test_the_picture_has_its_dark_colours_on_a_dark_page(name: str, use: str) -> None:
    sheet = (STATIC / "picture.css").read_text(encoding="utf-8")
    light, dark = (asdict(THEMES[theme])[name] for theme in ("light", "dark"))
    assert f'.picture [{use}="{light}"] {{ {use}: {dark}; }}' in sheet


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["ink", "faint", "flash", "no_flash", "limit"])
def test_the_picture_is_readable_on_its_panel(scheme: str, name: str) -> None:
    drawn = asdict(THEMES[scheme])[name]
    words = name in {"ink", "limit"}
    assert contrast(drawn, colours(scheme)["surface"]) >= (4.5 if words else 3)
