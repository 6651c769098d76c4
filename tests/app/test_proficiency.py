"""Rounds are scored once, kept, and shown over time for the laboratory and its people."""

import json
from decimal import Decimal

import pytest

from closedcup.app.usecases.charts.chart_picture import scores_picture
from closedcup.app.usecases.records.history import history_of
from closedcup.app.usecases.uncertainty import proficiency
from closedcup.app.usecases.uncertainty.proficiency import Sent
from closedcup.errors import InputError, Refused

FACTS = {"held_on": "2026-01-15", "method": "d3828-b", "assigned_c": Decimal("61.0")}


def send(opened, name, result, **besides):
    facts = FACTS | {"deviation_c": Decimal("0.9")} | besides
    return proficiency.record_result(opened, Sent(round=name, result_c=Decimal(result), **facts))


def test_a_round_keeps_all_four_scores_as_computed(opened):
    told = send(
        opened,
        "2026-1",
        "62.4",
        person="bw",
        result_uncertainty_c=Decimal("0.5"),
        assigned_uncertainty_c=Decimal("0.2"),
    )
    shown = [told[name] for name in ("z", "z_prime", "zeta", "en")]
    assert shown == pytest.approx([1.5556, 1.5185, 2.5997, 1.2999], abs=5e-5)
    assert (told["judged_by"], told["standing"]) == ("z", "satisfactory")
    kept = proficiency.history(opened)["results"][0]
    assert kept["z"] == told["z"]
    assert "satisfactory" in history_of(opened, "PT-0001")[0]["what"]


def test_two_questionable_in_a_row_on_one_side_ask_for_a_look(opened):
    for name, result, person in (("1", "63.0", "bw"), ("2", "63.1", "bw"), ("3", "60.0", "at")):
        send(opened, name, result, person=person, held_on=f"2026-0{name}-01")
    together = proficiency.history(opened)
    assert together["laboratory"]["questionable"] == 2
    assert any("same side" in words for words in together["laboratory"]["warnings"])
    people = {row["person"]: row for row in together["people"]}
    assert (people["bw"]["count"], people["at"]["count"]) == (2, 1)
    assert not people["at"]["warnings"]
    assert [row["id"] for row in proficiency.history(opened, person="at")["results"]] == ["PT-0003"]
    assert "<svg" in scores_picture(together)


@pytest.mark.parametrize(
    ("besides", "kind"),
    [
        ({"deviation_c": Decimal(0)}, "deviation"),
        ({"person": "nobody"}, "person-unknown"),
        ({"held_on": "spring"}, "date-unreadable"),
        ({"method": "d9999"}, "method-unknown"),
        ({"assigned_uncertainty_c": Decimal("-0.1")}, "deviation"),
    ],
)
def test_what_cannot_be_scored_is_refused(opened, besides, kind):
    with pytest.raises(InputError) as refused:
        send(opened, "1", "62", **besides)
    assert refused.value.kind == kind


def test_the_same_result_twice_is_refused_and_no_round_makes_no_picture(opened):
    with pytest.raises(Refused, match="No result"):
        scores_picture(proficiency.history(opened))
    send(opened, "1", "62")
    with pytest.raises(InputError, match="already"):
        send(opened, "1", "61.5")


def test_the_commands_take_values_or_the_table_of_a_round(opened, command, tmp_path):
    opened.close()
    words = ["proficiency-result", "A", "--on", "2026-02-01", "--method", "d3828-b"]
    values = ["--result", "66 degC", "--assigned", "61 degC", "--deviation", "0.9 degC"]
    status, out, _ = command(*words, *values, "--json")
    assert (status, json.loads(out)["standing"]) == (4, "action")
    table = tmp_path / "round.csv"
    table.write_text("site,result_c\nA,60\nB,61\nC,62\nD,60\nE,61\nF,59\nG,61.5\n")
    words[1] = "B"
    status, out, _ = command(*words, "--file", str(table), "--site", "C", "--json")
    told = json.loads(out)
    assert (status, told["result_c"]) == (0, 62.0)
    assert 0 < told["z_prime"] < 3
    assert command(*words, "--file", str(table), "--site", "Z")[0] == 2
    assert command(*words)[0] == 2
    picture = tmp_path / "scores.svg"
    status, out, _ = command("proficiency", "--picture", str(picture))
    assert status == 0
    assert "PT-0002" in out
    assert picture.exists()
