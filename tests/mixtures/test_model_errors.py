"""The rule for the models' widths, and that what ships is what it gives."""

import csv

import pytest

from closedcup.app.validation.interval_scores import left_out, mean_off_c, scores, sets_of_series
from closedcup.app.validation.model_errors import chosen_model, model_errors
from closedcup.app.validation.published_blends import OWN_ENDS, all_series
from closedcup.mixtures import activity_model, find
from closedcup.mixtures.interval import FAMILIES, model_part
from closedcup.mixtures.tables import data_file


@pytest.mark.parametrize("model", ["unifac", "dortmund"])
def test_what_ships_is_what_the_rule_gives_on_all_series(model):
    lines = data_file("model_error.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    written = {row["family"]: row for row in rows if row["model"] == model}
    for error in model_errors(list(all_series().values()), model):
        assert float(written[error.family]["half_width_c"]) == pytest.approx(
            error.half_width_c, abs=0.006
        )
        assert written[error.family]["note"] == error.note


@pytest.mark.parametrize("model", ["unifac", "dortmund", "ideal", "nrtl"])
@pytest.mark.parametrize("family", FAMILIES)
def test_every_model_has_a_width_for_every_kind_of_blend(model, family):
    assert model_part(model, family).half_width_c > 1


def test_the_default_model_is_what_the_rule_chooses():
    series = list(all_series().values())
    for aqueous, names in ((False, ("octane", "ethanol")), (True, ("water", "ethanol"))):
        shipped = activity_model("default", [find(name) for name in names]).name
        assert chosen_model(series, aqueous=aqueous) == shipped


def test_no_series_has_a_say_in_its_own_pure_values():
    for series in all_series().values():
        for liquid in series.points[0].made.liquids:
            assert OWN_ENDS not in {value.family for value in liquid.flash_values}


def test_a_series_that_is_far_off_is_explained():
    for names, predicted in left_out().items():
        if mean_off_c(predicted) > 4 or all_series()[names].doubtful:
            assert len(all_series()[names].explanation) > 50, names


def test_a_width_grows_with_each_step_away_from_the_data():
    for model in ("unifac", "dortmund"):
        known, few, _, none, _ = (model_part(model, family).half_width_c for family in FAMILIES)
        assert known < few < none


def test_the_intervals_are_better_than_a_constant():
    for chosen in sets_of_series().values():
        strict, constant, _ = scores("default", chosen)
        assert strict.interval_score_c < constant.interval_score_c
