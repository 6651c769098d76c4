"""Estimates and blends on their pages: the numbers of the web API, errors beside their fields."""

from html import unescape
from importlib.resources import files

import pytest
from starlette.testclient import TestClient

from closedcup.reports.triangle import DOT_COLOURS


def plain(text: str) -> str:
    """Return a page's words as the API writes them."""
    return unescape(text).replace("\u00a0", " ").replace("−", "-")


def test_an_estimate_says_what_the_api_says(pages: TestClient) -> None:
    asked = "c=ethanol%3D30+%25&c=water%3D70+%25&basis=volume&pressure=95.2+kPa&method=d3828-b"
    answer = pages.get(f"/api/estimate?{asked}").json()
    text = plain(pages.get(f"/estimate?{asked}").text)
    assert "not a test result" in text
    for key in ("flash_point_c", "low_c", "high_c", "cup_flash_point_c", "starting_cup_c"):
        assert f"{answer[key]:.1f} °C" in text
    for words in (*answer["warnings"][1:], *(step["text"] for step in answer["steps"])):
        assert words.replace("−", "-") in text


def test_lines_of_the_form_are_components_and_a_lone_name_is_pure(pages: TestClient) -> None:
    typed = pages.get("/estimate", params={"c": "ethanol=0.5\r\n\r\nwater=0.5", "basis": "mole"})
    assert typed.status_code == 200
    assert "64-17-5" in typed.text
    pure = pages.get("/estimate", params={"c": "n-decane"})
    assert pure.status_code == 200
    assert "124-18-5" in pure.text


@pytest.mark.parametrize(
    ("asked", "status", "field", "words"),
    [
        ({"c": ""}, 400, "c", "One part a line"),
        ({"c": "ethanol=0.5\nEtOH=0.5"}, 400, "c", "given twice"),
        ({"c": "nonsuchanol"}, 400, "c", "nonsuchanol"),
        ({"c": "chloroform"}, 422, "c", "masks the flash"),
        ({"c": "ethanol", "pressure": "95"}, 400, "pressure", "no unit"),
        ({"c": "ethanol", "amount_uncertainty": "80 %"}, 400, "amount_uncertainty", "say nothing"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_lost(
    pages: TestClient, asked: dict[str, str], status: int, field: str, words: str
) -> None:
    found = pages.get("/estimate", params=asked)
    assert found.status_code == status
    assert f'id="{field}-error"' in found.text
    assert words in found.text
    assert asked["c"].split("\n")[0] in found.text


def test_two_liquids_make_a_line_three_a_map(pages: TestClient) -> None:
    line = pages.get("/blends", params={"c": "octane\nethanol", "level": "10 degC"}).text
    assert "Lowest, below both" in line
    assert "Falls through 10" in line
    triangle = pages.get("/blends", params={"c": "water\ntoluene\nethanol", "basis": "mass"}).text
    assert "ringed: two or three liquids" in triangle
    assert "<svg" in triangle


def test_an_evaporation_is_a_table(pages: TestClient) -> None:
    asked = {"c": "acetone=5 %\ntoluene=95 %", "basis": "mass", "at": "20 degC"}
    found = pages.get("/blends", params=asked).text
    assert "Evaporation at 20.0" in found
    assert "toluene, by mass" in found


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"c": "ethanol"}, "c"),
        ({"c": "ethanol\nEtOH"}, "c"),
        ({"c": "ethanol\nwater", "level": "60"}, "level"),
        ({"c": "ethanol=1", "at": "warm"}, "at"),
        ({"c": "water=0.5\n1-butanol=0.5", "at": "25 degC"}, "c"),
    ],
)
def test_blends_that_cannot_be_drawn(pages: TestClient, asked: dict[str, str], field: str) -> None:
    found = pages.get("/blends", params=asked)
    assert found.status_code >= 400
    assert f'id="{field}-error"' in found.text


def test_dots_have_their_dark_colours_on_a_dark_page() -> None:
    sheet = (files("closedcup.app.web") / "static" / "picture.css").read_text(encoding="utf-8")
    for light, dark in zip(DOT_COLOURS["light"], DOT_COLOURS["dark"], strict=True):
        assert f'.picture [fill="{light}"] {{ fill: {dark}; }}' in sheet


def test_a_formulation_says_what_the_api_says(pages: TestClient) -> None:
    asked = {"c": "ethanol", "basis": "volume", "added": "water", "limit": ">=23 degC"}
    text = plain(pages.get("/formulate", params=asked | {"wanted": "least"}).text)
    api = {"c": "ethanol=1", "basis": "volume", "least": "water", "limit": ">=23 degC"}
    answer = pages.get("/api/formulate", params=api).json()
    for each in (answer["at_limit"], answer["with_margin"]):
        assert f"{100 * each['share']:.4g} %" in text
        assert f"{each['low_c']:.1f} °C" in text
    assert answer["clause"] in text


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"limit": ""}, "limit"),
        ({"limit": "60"}, "limit"),
        ({"limit": "<60 degC"}, "limit"),
        ({"added": ""}, "added"),
        ({"added": "nonsuchanol"}, "added"),
        ({"c": "toluene"}, "limit"),
        ({"c": "ethanol"}, "c"),
        ({"added": "decane"}, "c"),
    ],
)
def test_a_formulation_that_is_refused(
    pages: TestClient, changed: dict[str, str], field: str
) -> None:
    asked = {"c": "decane", "added": "ethanol", "limit": ">=30 degC"} | changed
    found = pages.get("/formulate", params=asked)
    assert found.status_code >= 400
    assert f'id="{field}-error"' in found.text
