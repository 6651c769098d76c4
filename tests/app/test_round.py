"""`closedcup interlaboratory`: from a table of sites to r and R, outliers, scores and a picture."""

import json

import pytest

TABLE = """site,material,result_c
north,M1,60.1
north,M1,60.3
south,M1,60.9
south,M1,61.0
east,M1,59.8
east,M1,60.4
west,M1,66.0
west,M1,65.8
north,M2,80.0
north,M2,80.2
south,M2,80.9
south,M2,81.1
east,M2,80.4
east,M2,80.2
west,M2,80.6
west,M2,80.8
"""


@pytest.fixture
def table(tmp_path):
    def write(text=TABLE):
        path = tmp_path / "round.csv"
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write


def test_a_round_gives_r_and_big_r_of_each_material(command, table, tmp_path):
    picture = tmp_path / "round.svg"
    status, out, _ = command(
        "interlaboratory", table(), "--method", "d3828-b", "--picture", str(picture), "--json"
    )
    first, second = json.loads(out)["materials"]
    assert status == 0
    assert second["repeatability_c"] == pytest.approx(2.8 * (0.02**0.5), rel=1e-9)
    assert second["reproducibility_c"] > second["repeatability_c"]
    assert first["R_over_method_R"] > 1
    assert "<svg" in picture.read_text(encoding="utf-8")


def test_a_site_leaves_with_a_reason_only(command, table):
    words = ["interlaboratory", table(), "--json", "--leave-out"]
    _, out, _ = command(*words, "west:M1=wrong barometer")
    answer = json.loads(out)
    assert answer["materials"][0]["sites"] == ["north", "south", "east"]
    assert answer["materials"][1]["sites"] == ["north", "south", "east", "west"]
    status, out, _ = command(*words, "west")
    assert (status, json.loads(out)["error"]["kind"]) == (2, "reason-missing")
    status, out, _ = command(*words, "wst=typing")
    assert (status, json.loads(out)["error"]["kind"]) == (2, "left-out-unknown")


def test_the_far_site_is_named_by_its_score(command, table):
    _, out, _ = command("interlaboratory", table(), "--deviation", "0.5 degC", "--json")
    west = next(one for one in json.loads(out)["scores"] if one["site"] == "west")
    assert west["standing"] != "satisfactory"


@pytest.mark.parametrize(
    ("text", "status", "kind"),
    [
        (TABLE.replace("result_c", "x_c"), 2, "column-missing"),
        ("site,result_c,method\na,60,d93-a\nb,61,d56\nc,61,d56\n", 2, "mixed-methods"),
        ("site,result_c\na,60\nb,61\n", 3, "too-few-laboratories"),
        ("site,result_c\na,60\nb,60\nc,60\n", 3, "no-spread"),
        ("site,result_c\na,60 degC\nb,61\nc,62\n", 2, "not-a-number"),
    ],
)
def test_bad_rounds_are_refused(command, table, text, status, kind):
    found, out, _ = command("interlaboratory", table(text), "--json")
    assert (found, json.loads(out)["error"]["kind"]) == (status, kind)
