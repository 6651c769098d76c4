"""`closedcup outliers` and `precision --theirs`: what farthest results and means say."""

import json

import pytest

FRACTIONS = [0.189, 0.167, 0.187, 0.183, 0.186, 0.182, 0.181, 0.184, 0.181, 0.177]


def _options(values, name="--value"):
    return [word for value in values for word in (name, f"{value} degC")]


def test_a_straggler_is_named_and_is_no_outlier(command):
    status, out, _ = command("outliers", *_options(FRACTIONS), "--json")
    answer = json.loads(out)
    tests = {test["test"]: test for test in answer["tests"]}
    assert status == 0
    assert tests["Grubbs"]["number"] == tests["Dixon"]["number"] == 2
    assert tests["Dixon"]["standing"] == "not suspect"
    assert tests["Grubbs"]["standing"] == "straggler"
    assert "no cause" in answer["note"]


def test_outliers_are_found_one_and_several(command):
    values = [60.11, 60.42, 59.73, 60.24, 59.95, 60.36, 60.07, 59.88, 60.19, 60.3, 60.01, 59.82]
    status, out, _ = command("outliers", *_options([*values, 66.0]), "--json")
    assert status == 4
    assert json.loads(out)["tests"][0]["number"] == 13
    two = [*values, *values[::-1], 66.0, 66.4]
    status, out, _ = command("outliers", *_options(two), "--json")
    assert status == 4
    assert {one["number"] for one in json.loads(out)["several"]} == {25, 26}
    assert "several" in command("outliers", *_options(two))[1]


@pytest.mark.parametrize(
    ("values", "status", "kind"),
    [
        ([60, 61], 3, "too-few-values"),
        ([60, 60, 60, 60], 3, "no-spread"),
        ([60, 60.5, 60, 60.5, 61], 3, "resolution-coarse"),
    ],
)
def test_what_cannot_be_tested_is_refused(command, values, status, kind):
    found, out, _ = command("outliers", *_options(values), "--json")
    assert (found, json.loads(out)["error"]["kind"]) == (status, kind)


def test_means_of_two_laboratories_are_compared_by_big_r(command):
    words = ["precision", "--method", "d3828-b", "--at", "60 degC", "--json"]
    ours, theirs = _options([60.0, 61.0], "--result"), _options([62.0, 63.0, 64.0], "--theirs")
    answer = json.loads(command(*words, *ours, *theirs)[1])
    r, big_r = answer["repeatability_c"], answer["reproducibility_c"]
    assert answer["difference_c"] == pytest.approx(2.5)
    assert answer["limit_c"] == pytest.approx((big_r**2 - r**2 * (1 - 1 / 4 - 1 / 6)) ** 0.5)
    assert answer["agree"] is (answer["limit_c"] >= 2.5)
    assert command(*words, *theirs)[0] == 2
