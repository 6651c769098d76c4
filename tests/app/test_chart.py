"""`closedcup chart`: from values, a file or an apparatus's history to signals and a picture."""

import json
from decimal import Decimal

import pytest

from closedcup.app.usecases.apparatus import establishing, verifying
from closedcup.laboratory import ReferenceMaterial
from closedcup.quantities import parse_temperature

FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def _options(values):
    return [word for value in values for word in ("--value", f"{value} degC")]


def test_values_become_points_with_limits(command):
    status, out, err = command("chart", *_options(FLOW), "--json")
    answer = json.loads(out)
    assert (status, err) == (0, "")
    assert {"points", "centre", "lower", "upper", "in_control", "rule_hits"} <= answer.keys()
    assert answer["upper"] == pytest.approx(55.8041, abs=5e-5)
    assert answer["points"][0] | {"value": 49.6, "signal": []} == answer["points"][0]


def test_a_point_out_of_control_exits_with_4_and_names_its_rules(command, tmp_path):
    picture = tmp_path / "chart.svg"
    words = ["chart", *_options([*FLOW, *FLOW, 70.0]), "--json", "--picture", str(picture)]
    status, out, _ = command(*words)
    answer = json.loads(out)
    assert status == 4
    assert answer["rule_hits"]["WE1"] == [21]
    assert "WE1" in answer["points"][20]["signal"]
    assert "Signals at 21 (WE1" in picture.read_text(encoding="utf-8")
    assert command(*words, "--rules", "none")[0] == 4  # its moving range is beyond all the same


@pytest.mark.parametrize("kind", ["ewma", "cusum"])
def test_other_kinds_signal_too(command, kind):
    status, out, _ = command("chart", *_options([*FLOW, *FLOW, 80.0]), "--kind", kind, "--json")
    assert status == 4
    assert json.loads(out)["points"][20]["signal"] == ["beyond the limits"]


def test_coarse_reading_is_said(command):
    values = [60, 61, 60, 60, 61, 60, 60, 61, 61, 60]
    status, out, _ = command("chart", *_options(values), "--json")
    answer = json.loads(out)
    assert status == 0
    assert answer["resolution_coarse"]
    assert answer["normality"] is None
    assert "brackets" in answer["warnings"][0]


def _file(tmp_path, text):
    path = tmp_path / "history.csv"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_materials_share_a_chart_in_expected_standard_deviations(command, tmp_path):
    rows = [(49.7, 0.5, 0.3), (60.2, 1.0, -0.2), (49.7, 0.5, -0.2), (60.2, 1.0, 0.9)] * 3
    text = "result_c,reference_c,expected_sd_c,material\n" + "\n".join(
        f"{reference + away:.1f},{reference},{sd},M{reference}" for reference, sd, away in rows
    )
    _, out, _ = command("chart", "--file", _file(tmp_path, text), "--json")
    answer = json.loads(out)
    assert answer["unit"] == "expected standard deviations"
    assert [round(point["value"], 6) for point in answer["points"][:4]] == [0.6, -0.2, -0.4, 0.9]


def test_a_cause_keeps_a_signal_from_holding_the_apparatus(command, tmp_path):
    text = "result_c,cause\n" + "\n".join(f"{value}," for value in [*FLOW, *FLOW])
    assert command("chart", "--file", _file(tmp_path, text + "\n75,wrong lid"))[0] == 0
    assert command("chart", "--file", _file(tmp_path, text + "\n75,"))[0] == 4


def test_subgroups_become_means_and_ranges(command, tmp_path):
    text = "result_c,subgroup\n" + "\n".join(
        f"{60 + group / 10 + place / 5},{group}" for group in range(6) for place in range(3)
    )
    status, out, _ = command(
        "chart", "--file", _file(tmp_path, text), "--kind", "means-ranges", "--json"
    )
    answer = json.loads(out)
    assert len(answer["points"]) == 6
    assert answer["companion"]["kind"] == "range"
    assert status == 0


def test_reading_to_one_degree_fahrenheit_is_coarse_too(command):
    words = [
        word for value in (140, 141, 140, 141, 141, 140) for word in ("--value", f"{value} degF")
    ]
    _, out, _ = command("chart", *words, "--json")
    answer = json.loads(out)
    assert answer["resolution"] == pytest.approx(5 / 9)
    assert answer["resolution_coarse"]


@pytest.mark.parametrize("kind", ["individuals", "ewma"])
def test_an_unknown_rule_is_refused(command, kind):
    status, out, _ = command("chart", *_options(FLOW), "--kind", kind, "--rules", "WE9", "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (2, "rule-unknown")


REFUSED = [
    ("result_c,method\n60,a\n61,b\n", 2, "mixed-methods"),
    ("result_c,reference_c\n60,60\n61,\n", 2, "reference-value-missing"),
    ("result_c,material\n60,M1\n61,M2\n", 2, "reference-value-missing"),
    ("result_c\n60\nsixty\n", 2, "not-a-number"),
    ("temperature\n60\n61\n", 2, "column-missing"),
    ("low_c,high_c\n60,60\n61,62\n", 2, "bracket-order"),
    ("result_c\n60\n61\n", 3, "too-few-values"),
    ("result_c\n60\n60\n60\n60\n60\n", 3, "no-spread"),
]


@pytest.mark.parametrize(("text", "status", "kind"), REFUSED)
def test_bad_files_are_refused_in_words(command, tmp_path, text, status, kind):
    found, out, _ = command("chart", "--file", _file(tmp_path, text), "--json")
    assert (found, json.loads(out)["error"]["kind"]) == (status, kind)


def test_verifications_on_record_are_charted(command, opened, clock):
    for liquid, name, value in (("n-decane", "RM-2", "49.7"), ("house blend", "RM-3", "60.2")):
        establishing.receive_reference_material(
            opened,
            ReferenceMaterial(
                id=name,
                liquid=liquid,
                lot="1",
                method="d3828-b",
                value_c=Decimal(value),
                certificate="C-2",
                expires_on="2027-01-01",
            ),
        )
    for away in (0.1, -0.4, 0.3, 0.4, -0.1, 0.2, -0.3):
        for name, value, sign in (("RM-2", 49.7, 1), ("RM-3", 60.2, -1)):
            clock.forward(days=1)
            typed = tuple(
                parse_temperature(f"{value + sign * away + more:.1f} degC") for more in (0, 0.1)
            )
            verifying.verify_apparatus(opened, "SC-1", name, typed)
    status, out, _ = command("chart", "SC-1", "--json")
    answer = json.loads(out)
    assert (status, answer["rule_hits"]) == (0, {})
    assert len(answer["points"]) == 14
    assert answer["unit"] == "expected standard deviations"
    assert answer["site_r_no_worse"] is True
    assert 0 < answer["site_R_over_R"] < 1
    assert any("pure compound" in warning for warning in answer["warnings"])


def test_an_apparatus_without_verifications_has_no_chart(command, opened):
    status, out, _ = command("chart", "SC-1", "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (3, "no-verifications")


AWAY = [0.1, -0.2, 0.3, -0.3, 0.2, -0.1, 0.0, 0.2, -0.2, 0.1]


@pytest.fixture
def verified(opened, clock):
    def verify(*differences):
        for difference in differences:
            clock.forward(days=1)
            typed = (parse_temperature(f"{49.7 + difference:.1f} degC"),)
            verifying.verify_apparatus(opened, "SC-1", "RM-1", typed)

    return verify


def test_limits_stay_as_decided_until_decided_anew(command, verified):
    verified(*AWAY)
    assert command("decide-limits", "SC-1", "--reason", "first ten")[0] == 0
    _, out, _ = command("chart", "SC-1", "--json")
    before = json.loads(out)
    verified(*[away + 0.5 for away in AWAY])
    status, out, _ = command("chart", "SC-1", "--json")
    after = json.loads(out)
    assert (after["lower"], after["upper"]) == (before["lower"], before["upper"])
    assert "first ten" in after["limits_from"]
    assert status == 4
    command("decide-limits", "SC-1", "--reason", "new igniter", "--since", "SC-1-V11")
    _, out, _ = command("chart", "SC-1", "--json")
    assert json.loads(out)["centre"] == pytest.approx(before["centre"] + 0.5)


def test_a_cause_on_record_is_kept_on_the_chart(command, verified):
    verified(*AWAY, 6.0, 0.1)
    assert command("chart", "SC-1")[0] == 4
    assert command("assign-cause", "SC-1-V11", "--cause", "lid left open")[0] == 0
    status, out, _ = command("chart", "SC-1", "--json")
    answer = json.loads(out)
    assert answer["points"][10]["cause"] == "lid left open"
    assert answer["points"][10]["signal"]
    assert status == 0


@pytest.mark.parametrize(
    ("words", "status", "kind"),
    [
        (["assign-cause", "SC-1-V99", "--cause", "x"], 2, "verification-unknown"),
        (["assign-cause", "SC-1-V1", "--cause", " "], 2, "cause-missing"),
        (["decide-limits", "SC-1", "--reason", " "], 2, "reason-missing"),
        (["decide-limits", "SC-1", "--reason", "x", "--since", "SC-1-V9"], 3, "too-few-values"),
    ],
)
def test_bad_decisions_are_refused(command, verified, words, status, kind):
    verified(*AWAY)
    found, out, _ = command(*words, "--json")
    assert (found, json.loads(out)["error"]["kind"]) == (status, kind)


@pytest.mark.parametrize(("kind", "factor"), [("means-ranges", 2.11), ("means-deviations", 2.09)])
def test_repeats_of_verifications_make_subgroups(command, opened, clock, kind, factor):
    for middle in (0.1, -0.2, 0.3, 0.0, 0.2, -0.1):
        clock.forward(days=1)
        typed = [f"{49.7 + middle + more:.2f} degC" for more in (-0.31, -0.12, 0.0, 0.13, 0.3)]
        verifying.verify_apparatus(
            opened, "SC-1", "RM-1", tuple(parse_temperature(one) for one in typed)
        )
    status, out, _ = command("chart", "SC-1", "--kind", kind, "--resolution", "0.01 degC", "--json")
    answer = json.loads(out)
    assert status == 0
    assert answer["points"][0]["value"] == pytest.approx(0.1)
    assert answer["points"][0]["label"].startswith("SC-1-V1")
    spread = answer["companion"]
    assert spread["upper"] / spread["centre"] == pytest.approx(factor, abs=0.01)
    assert command("assign-cause", "SC-1-V3", "--cause", "lid left open")[0] == 0
    without = json.loads(command("chart", "SC-1", "--kind", kind, "--json")[1])
    assert without["centre"] == pytest.approx(0.0, abs=1e-9)
    assert without["points"][2]["cause"] == "lid left open"
    clock.forward(days=1)
    verifying.verify_apparatus(opened, "SC-1", "RM-1", (parse_temperature("49.7 degC"),))
    status, out, _ = command("chart", "SC-1", "--kind", kind, "--json")
    assert (status, json.loads(out)["error"]["kind"]) == (2, "subgroups-unequal")
