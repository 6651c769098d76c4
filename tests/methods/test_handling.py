"""What a method asks of a sample before it is opened."""

import pytest

from closedcup.methods import handling_warnings, method


def said(identifier="d3828-b", **sample):
    usual = {
        "expected_corrected_c": 40.0,
        "last_c": 4.0,
        "fill_percent": 90.0,
        "container": "glass",
    }
    return handling_warnings(method(identifier), **(usual | sample))


def test_a_cold_full_glass_bottle_says_nothing():
    assert said() == ()
    assert said(last_c=None, fill_percent=None, container="") == ()


@pytest.mark.parametrize(
    ("identifier", "sample", "says"),
    [
        ("d3828-b", {"last_c": 30.1}, "30 °C or colder"),
        ("d93-a", {"last_c": 22.1}, "22 °C or colder"),
        ("d3828-b", {"expected_corrected_c": None}, "Nothing is expected"),
        ("d3828-b", {"fill_percent": 84.0}, "85 to 95 %"),
        ("d93-a", {"fill_percent": 49.0}, "50 to 85 %"),
        ("d93-a", {"container": "HDPE bottle"}, "plastic"),
    ],
)
def test_a_sample_that_may_have_lost_light_ends_is_warned_of(identifier, sample, says):
    (text,) = said(identifier, **sample)
    assert says in text
