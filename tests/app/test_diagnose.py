"""`closedcup diagnose`: from a file or an apparatus's record to ranked causes and a picture."""

import json
from decimal import Decimal

import numpy as np
import pytest

from closedcup.app.usecases.apparatus import establishing, verifying
from closedcup.app.usecases.bench import days
from closedcup.app.usecases.diagnosis import diagnosing, reference_history
from closedcup.laboratory import (
    ProbeCheck,
    ReferenceMaterial,
    ServiceAnswer,
    Verification,
    VerificationConditions,
)
from closedcup.laboratory.checklist import start_of_day_checklist
from closedcup.methods import correction_c, method
from closedcup.quantities import parse_pressure, parse_temperature
from closedcup.records.encoding import from_body, to_body

KEYS = {
    "found",
    "named",
    "conclusion",
    "clean_probability",
    "causes",
    "not_examined",
    "confirm_first",
    "points",
    "symptoms",
    "warnings",
}


def _rows(count=24, *, lid_2_c=0.0, times_corrected=1, pressures=True, seed=3):
    """Two results a day on one material; lid 2 is in use from the middle on."""
    generator = np.random.default_rng(seed)
    pressure = np.repeat(generator.uniform(92, 97, count // 2), 2).round(1)
    late = np.arange(count) >= count // 2
    result = (
        60.0
        + (times_corrected - 1) * correction_c(pressure)
        + lid_2_c * late
        + generator.normal(0, 0.6, count)
    )
    return [
        {
            "date": f"2026-02-{1 + place // 2:02d}",
            "result_c": f"{np.round(2 * result[place]) / 2:.1f}",
            "reference_c": "60.0",
            "lid": "L2" if late[place] else "L1",
            "operator": "ab"[place // 2 % 2],
            **({"pressure_kpa": f"{pressure[place]:.1f}"} if pressures else {}),
        }
        for place in range(count)
    ]


def _file(tmp_path, rows):
    path = tmp_path / "history.csv"
    lines = [",".join(rows[0]), *(",".join(row.values()) for row in rows)]
    path.write_text("\n".join(lines), encoding="utf-8")
    return str(path)


@pytest.mark.parametrize(
    ("made", "cause", "sign"),
    [
        ({"lid_2_c": 3.0}, "change of lid", 1),
        ({"lid_2_c": -3.0}, "change of lid", -1),
        ({"times_corrected": 0}, "pressure not corrected", -1),
        ({"times_corrected": 2}, "pressure corrected twice", 1),
    ],
)
def test_a_file_gives_the_cause_with_its_sign(command, tmp_path, made, cause, sign):
    picture = tmp_path / "why.svg"
    path = _file(tmp_path, _rows(**made))
    words = ["diagnose", "--file", path, "--method", "d93-a", "--picture", str(picture)]
    status, out, err = command(*words, "--json")
    answer = json.loads(out)
    assert (status, err) == (0, "")
    assert answer.keys() >= KEYS
    assert answer["named"][0] == cause
    first = answer["causes"][0]
    assert np.sign(first["effect_c"]) == sign
    assert first["low_c"] < first["effect_c"] < first["high_c"]
    r_c = 0.029 * 60
    assert first["effect_in_r"] == pytest.approx(first["effect_c"] / r_c)
    assert answer["confirm_first"]["caution"]
    assert answer["symptoms"][0]["known"] == "common practice"
    assert cause in picture.read_text(encoding="utf-8")
    assert "follows heating rate" in answer["not_examined"]
    shown = command(*words)[1]
    assert cause in shown
    assert "CAUTION" in shown


def test_clean_results_name_nothing(command, tmp_path):
    path = _file(tmp_path, _rows())
    status, out, _ = command("diagnose", "--file", path, "--method", "d93-a", "--json")
    answer = json.loads(out)
    assert status == 0
    assert (answer["found"], answer["named"], answer["confirm_first"]) == (False, [], None)
    assert "No cause stands out" in answer["conclusion"]


def _without(rows, column, place):
    rows[place][column] = ""
    return rows


@pytest.mark.parametrize(
    ("rows", "words", "status", "kind"),
    [
        (_rows(6), ("--method", "d93-a"), 3, "too-few-results"),
        (_rows(), (), 2, "repeatability-missing"),
        (
            _without(_rows(), "reference_c", 4),
            ("--method", "d93-a"),
            2,
            "reference-value-missing",
        ),
        (
            [{**row, "method": "d93-a" if n % 2 else "d56"} for n, row in enumerate(_rows())],
            (),
            2,
            "mixed-methods",
        ),
        (_rows()[::-1], ("--method", "d93-a"), 2, "dates-go-back"),
        ([{**row, "date": "soon"} for row in _rows()], ("--method", "d93-a"), 2, "date-unreadable"),
    ],
)
def test_bad_input_is_refused_in_words(command, tmp_path, rows, words, status, kind):
    got, out, _ = command("diagnose", "--file", _file(tmp_path, rows), *words, "--json")
    error = json.loads(out)["error"]
    assert (got, error["kind"]) == (status, kind)
    assert error["fix"]


def test_a_history_is_named_once(command):
    assert command("diagnose")[0] == 2
    assert command("diagnose", "SC-1", "--simulate")[0] == 2


def test_pressure_that_never_differs_is_said_and_leaves_two_causes(command, tmp_path):
    rows = [{**row, "pressure_kpa": "93.5"} for row in _rows(times_corrected=0, seed=5)]
    out = command("diagnose", "--file", _file(tmp_path, rows), "--method", "d93-a", "--json")[1]
    answer = json.loads(out)
    assert {"pressure not corrected", "constant offset"} == set(answer["named"])
    assert any("never differed" in warning for warning in answer["warnings"])


def test_a_single_stray_result_is_named(command, tmp_path):
    rows = _rows()
    rows[7]["result_c"] = "66.5"
    out = command("diagnose", "--file", _file(tmp_path, rows), "--method", "d93-a", "--json")[1]
    assert json.loads(out)["warnings"][0].startswith("Result 8 (2026-02-04: 66.5 °C for 60 °C)")


def test_a_correction_that_is_not_the_formulas_is_said(command, tmp_path):
    rows = [{**row, "correction_applied_c": "0"} for row in _rows(times_corrected=0)]
    out = command("diagnose", "--file", _file(tmp_path, rows), "--method", "d93-a", "--json")[1]
    assert any("For 24 of 24 results what was added" in one for one in json.loads(out)["warnings"])


def test_what_some_results_lack_is_said_and_not_filled_in(command, tmp_path):
    rows = _without(_rows(lid_2_c=3.0), "lid", 2)
    out = command("diagnose", "--file", _file(tmp_path, rows), "--method", "d93-a", "--json")[1]
    answer = json.loads(out)
    assert answer["not_examined"]["change of lid"] == "not on record for 1 of 24 results"
    assert "change of lid" not in {one["cause"] for one in answer["causes"]}


def test_simulated_histories_give_a_confusion_matrix(command):
    status, out, _ = command("diagnose", "--simulate", "--histories", "12", "--json")
    answer = json.loads(out)
    assert status == 0
    assert [effect["effect_in_r"] for effect in answer["effects"]] == [1.0, 2.0]
    for effect in answer["effects"]:
        assert len(effect["rows"]) == 12
        assert all(sum(row["named_first"].values()) == 12 for row in effect["rows"])
    assert "first of the day" in command("diagnose", "--simulate", "--histories", "2")[1]


@pytest.fixture
def in_service(opened):
    establishing.receive_reference_material(
        opened,
        ReferenceMaterial(
            "RM-9", "a liquid", "lot 9", "d3828-b", Decimal("49.7"), "C-9", "2027-01-01"
        ),
    )
    return opened


def _verify(opened, results, **under):
    values = tuple(parse_temperature(f"{text} degC") for text in results)
    return verifying.verify_apparatus(
        opened, "SC-1", "RM-9", values, made_under=VerificationConditions(**under)
    )


def test_a_verification_from_before_conditions_were_asked_for_is_still_read(in_service):
    _verify(in_service, ["50.0"] * 8, lid="L1")
    body = to_body(in_service.state.verifications["SC-1"][0])
    del body["conditions"]
    old = from_body(Verification, body)
    assert old.conditions is None
    in_service.state.verifications["SC-1"] = (old,)
    answer = diagnosing.diagnosed(
        reference_history.gathered_on_record(in_service, "SC-1", "d3828-b")
    )
    assert answer["not_examined"]["change of lid"] == "not on record"


def test_conditions_are_completed_from_the_records(in_service):
    establishing.record_probe_check(
        in_service, ProbeCheck("SC-1", Decimal("0.1"), "C-1", "2026-02-01")
    )
    answers = tuple(ServiceAnswer(item.id, done=True) for item in start_of_day_checklist().items)
    days.start_day(in_service, "SC-1", parse_pressure("84.1 kPa"), answers)
    _verify(in_service, ["50.0", "49.5"], lid="L1")
    answer = _verify(in_service, ["50.0"], correction_applied_c=Decimal(0))
    first, second = in_service.state.verifications["SC-1"]
    assert first.conditions.pressure == parse_pressure("84.1 kPa")
    assert first.conditions.operator == in_service.by
    assert first.conditions.probe_checked_on == "2026-02-01"
    assert (first.conditions.order_in_day, second.conditions.order_in_day) == (1, 3)
    assert first.conditions.lid == "L1"
    assert "the formula gives +4.30 °C" in answer["warnings"][0]


def test_results_on_record_are_diagnosed_one_by_one(in_service):
    for place in range(6):
        step = 2.0 if place >= 3 else 0.0
        _verify(
            in_service,
            [f"{49.5 + step}", f"{50.0 + step}"],
            pressure=parse_pressure("84.0 kPa"),
            igniter="I2" if place >= 3 else "I1",
            order_in_day=1,
        )
    gathered = reference_history.gathered_on_record(in_service, "SC-1", None)
    answer = diagnosing.diagnosed(gathered)
    assert answer["results"] == 12
    assert answer["named"] == ["change of igniter"]
    assert answer["causes"][0]["at"] in {"with I2", "from I2 on"}
    assert answer["causes"][0]["effect_c"] == pytest.approx(2.0, abs=0.25)
    assert answer["method"] == method("d3828-b").designation
    assert "4.3 °C too low" in answer["pressure_signs"]
