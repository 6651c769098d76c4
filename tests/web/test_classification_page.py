"""The page on which a flash point is tried without a sample, and the classes beside a result."""

from html import unescape

import pytest

ASKED = "/classification?flash=59.8 degC&method=d93-a&boils=150 degC"


def test_the_page_answers_as_the_command_does(pages):
    text = unescape(pages.get(ASKED).text).replace("\u00a0", " ")
    regimes = pages.get("/api/classify?flash=59.8 degC&method=d93-a&boils=150 degC").json()
    for answer in regimes:
        assert f">{answer['regime']}<" in text
    assert "Chance: Category 3 55 %, Category 4 45 %" in text
    assert "What evidence would change it" in text
    assert "rounded to 60 °C it would read" in text
    assert "<svg" in text
    assert "RCRA, D001 (55 %)" in text  # the picture says itself in words


def test_nothing_asked_shows_the_form_alone(pages):
    answer = pages.get("/classification")
    assert answer.status_code == 200
    assert "Regime by regime" not in answer.text


@pytest.mark.parametrize(
    ("address", "status", "id_", "words"),
    [
        ("flash=59.8", 400, "flash-error", "has no unit"),
        ("flash=59.8 degC&boils=hot", 400, "boils-error", "hot"),
        ("flash=59.8 degC&fire_point=50 degC", 400, "fire_point-error", "below the flash point"),
        ("flash=59.8 degC&product=desel", 400, "product-error", "diesel"),
        ("flash=59.8 degC&name=bulk&value=perhaps", 400, None, "neither yes nor no"),
        ("flash=59.8 degC&method=d92", 422, "method-error", "open cup"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_typed_is_lost(
    pages, address, status, id_, words
):
    answer = pages.get(f"/classification?{address}")
    text = unescape(answer.text).replace("\u00a0", " ")
    assert answer.status_code == status
    assert words in text
    assert 'value="59.8' in text
    if id_ is not None:
        assert f'id="{id_}"' in text


def test_old_divisions_come_when_they_are_asked(pages):
    assert "Old sea divisions" not in pages.get(ASKED).text
    assert "Old sea divisions" in pages.get(f"{ASKED}&legacy=yes").text


def test_the_api_decides_between_two_limits_and_over_batches(pages):
    found = pages.get(
        "/api/conform?limit=>%3D38 degC and <%3D60 degC&result=59 degC&method=d93-a"
        "&process_mean=55 degC&process_spread=2 degC"
    ).json()
    assert found["conforms"]
    assert (found["acceptance_low_c"], found["acceptance_high_c"]) == (38.0, 60.0)
    assert 0 < found["global_consumer_risk"] < found["global_producer_risk"] + 1
    assert found["words"]
