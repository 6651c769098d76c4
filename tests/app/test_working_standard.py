"""`closedcup working-standard`: a site's own value, set only where it can be trusted."""

import json

import pytest

from closedcup.app.usecases.apparatus import verifying
from closedcup.quantities import parse_temperature

WORDS = [
    "working-standard", "WS-1", "--liquid", "house solvent", "--lot", "7", "--method", "d3828-b",
    "--apparatus", "SC-1", "--expires", "2027-01-01", "--json",
]  # fmt: skip


def _results(*values):
    return [word for value in values for word in ("--result", f"{value} degC")]


@pytest.fixture
def in_control(opened):
    verifying.verify_apparatus(opened, "SC-1", "RM-1", (parse_temperature("49.7 degC"),))


@pytest.mark.usefixtures("in_control")
def test_repeats_set_a_value_that_verifications_can_use(command):
    status, out, _ = command(*WORDS, *_results(55.0, 55.2, 55.1, 55.1))
    assert (status, json.loads(out)["value_c"]) == (0, pytest.approx(55.1))
    status, _, _ = command(
        "verify", "--apparatus", "SC-1", "--material", "WS-1", "--result", "55.0 degC"
    )
    assert status == 0


@pytest.mark.usefixtures("in_control")
def test_an_outlier_is_left_out_and_named(command):
    _, out, _ = command(*WORDS, *_results(55.0, 55.2, 55.1, 55.1, 55.0, 55.2, 62.0))
    answer = json.loads(out)
    assert answer["left_out_c"] == [62.0]
    assert answer["results"] == 6


@pytest.mark.usefixtures("in_control")
@pytest.mark.parametrize(
    ("values", "kind"),
    [((55.0, 55.1), "too-few-values"), ((53.0, 55.1, 57.0), "repeats-disagree")],
)
def test_results_that_set_no_value_are_refused(command, values, kind):
    status, out, _ = command(*WORDS, *_results(*values))
    assert (status, json.loads(out)["error"]["kind"]) == (3, kind)


@pytest.mark.usefixtures("opened")
def test_no_value_is_set_on_an_apparatus_that_was_not_verified(command):
    status, out, _ = command(*WORDS, *_results(55.0, 55.1, 55.2))
    assert (status, json.loads(out)["error"]["kind"]) == (3, "apparatus-not-in-control")
