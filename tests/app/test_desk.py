"""The desk: custody, openings, volume, retention, the customer, labels, finding things again."""

import json
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from closedcup.app.opening import open_laboratory
from closedcup.app.usecases.apparatus import verifying
from closedcup.app.usecases.bench import beginning, benching
from closedcup.app.usecases.desk import (
    chilling,
    custody,
    customer,
    finding,
    labels,
    overview,
    retention,
    samples,
    view,
)
from closedcup.app.usecases.nonconforming import disputes
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.records import history
from closedcup.app.usecases.results import reporting, results
from closedcup.errors import Conflict, InputError, Refused
from closedcup.quantities import parse_pressure, parse_temperature, parse_volume
from closedcup.records import following
from closedcup.records.projections import SampleQuery

PRESSURE = parse_pressure("84.1 kPa")


def at(text):
    return parse_temperature(f"{text} degC")


@pytest.fixture
def to_its_report(opened, request_test, follow, clock):
    """Test the sample, kept ten days from its report, to its report; return the result."""

    def work(limit=None):
        values = tuple(at(text) for text in ("49.5", "50.0"))
        verifying.verify_apparatus(opened, "SC-1", "RM-1", values)
        retention.agree_keeping(opened, "S-1", "as agreed", keep_days=10)
        test = request_test(limit=limit)
        planning.make_plan(opened, test.id, "SC-1", PRESSURE)
        clock.forward(minutes=5)
        series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
        follow(series.id, 14.0)
        result = results.issue_result(opened, test.id)
        results.release_result(opened, result.id)
        reporting.issue_report(opened, result.id)
        return result

    return work


@pytest.fixture
def reported(to_its_report):
    return to_its_report()


def test_custody_is_a_chain_and_only_the_holder_opens(opened, sample, clock):
    first = custody.hand_over(opened, "S-1", "at", "cold store, shelf 2", giver="courier")
    assert (first["holder"], first["place"]) == ("at", "cold store, shelf 2")
    clock.forward(minutes=5)
    custody.hand_over(opened, "S-1", "bw", "bench A")
    assert [(row["from"], row["to"]) for row in view.keeping_of(opened, "S-1")["custody"]] == [
        ("courier", "at"),
        ("at", "bw"),
    ]
    with pytest.raises(InputError, match="already"):
        custody.hand_over(opened, "S-1", "bw", "bench A", giver="bw")
    with pytest.raises(Conflict, match=r"B\. Wren has S-1") as refused:
        custody.open_sample(opened, "S-1", "a specimen", at(4))
    assert "hand-over S-1 --to at" in refused.value.fix
    opened.by = "bw"
    answer = custody.open_sample(opened, "S-1", "a specimen", at(4))
    assert answer["openings"][0] | {"at": ""} == {
        "at": "",
        "by": "bw",
        "why": "a specimen",
        "temperature_c": 4.0,
    }
    said = [row["what"] for row in history.history_of(opened, "S-1")]
    assert "opened at 4.0 °C: a specimen" in said
    custody.hand_over(opened, "S-1", "another laboratory", "on the road")
    with pytest.raises(Conflict, match="another laboratory has S-1"):
        custody.open_sample(opened, "S-1", "a specimen", at(4))


def test_two_benches_on_one_sample_are_told_of_each_other(opened, sample, database, clock):
    seen = view.keeping_of(opened, "S-1")["last_entry"]
    with open_laboratory(database, by="bw", clock=clock) as other:
        custody.open_sample(other, "S-1", "a look", at(5))
        with pytest.raises(Conflict, match="meanwhile: entry") as told:
            custody.open_sample(opened, "S-1", "a specimen", seen=seen)
        assert "by bw" in told.value.what
        _ = opened.state
        custody.open_sample(other, "S-1", "another look", at(5))
        with pytest.raises(Conflict, match="sample-opened, by bw"):
            opened.record("sample-opened", "S-1", {})


def test_the_temperature_at_an_opening_is_what_the_day_and_the_plan_reckon_with(
    opened, sample, request_test
):
    assert not chilling.coldness(opened, sample, 0.0).is_chilling
    custody.open_sample(opened, "S-1", "a look", at(-3))
    assert chilling.coldness(opened, sample, 0.0).ready_min == 0
    custody.open_sample(opened, "S-1", "a specimen", at(21))
    assert chilling.coldness(opened, sample, 0.0).ready_min > 0
    plan = planning.make_plan(opened, request_test().id, "SC-1", PRESSURE)
    assert any("it was at 21 °C when last read" in line for line in plan["warnings"])
    with pytest.raises(InputError, match="not kept at 400"):
        custody.open_sample(opened, "S-1", "a specimen", at(400))


def test_specimens_draw_on_what_is_left_and_never_below_nothing(
    opened, sample, request_test, clock
):
    test = request_test()
    planning.make_plan(opened, test.id, "SC-1", PRESSURE)
    values = tuple(at(text) for text in ("49.5", "50.0"))
    verifying.verify_apparatus(opened, "SC-1", "RM-1", values)
    series = beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")
    step = benching.bench(opened, series.id).instruction
    cup = Decimal(f"{step.cup_c:.1f}")
    benching.set_cup(opened, series.id, cup)
    assert benching.load_specimen(opened, series.id, cup).volume_left_ml == 198
    again = benching.withdraw(opened, series.id, 1, "typed at the wrong series")
    assert again.volume_left_ml == 200
    noted = custody.note_left(opened, "S-1", parse_volume("2500 mL"), "mistyped")
    assert "2500 mL are left by the last note, and 200 mL arrived" in noted["warnings"][0]
    custody.note_left(opened, "S-1", parse_volume("1 mL"), "leaked")
    with pytest.raises(Refused, match="1 mL of S-1 are left, and the specimen takes 2 mL") as no:
        benching.load_specimen(opened, series.id, cup)
    assert "closedcup left S-1" in no.value.fix
    custody.note_left(opened, "S-1", parse_volume("3 mL"), "looked again")
    assert benching.load_specimen(opened, series.id, cup).volume_left_ml == 1
    assert "may not be enough" in view.keeping_of(opened, "S-1")["warnings"][0]


def test_what_is_kept_back_for_a_dispute_is_not_quietly_used(opened, sample, request_test):
    test = request_test()
    plan = planning.make_plan(opened, test.id, "SC-1", PRESSURE)
    back = parse_volume(f"{200 - plan['sample_needed_ml'] + 1:g} mL")
    with pytest.raises(InputError, match="cannot be kept back of the 200 mL"):
        retention.agree_keeping(opened, "S-1", "all", kept_back=parse_volume("201 mL"))
    answer = retention.agree_keeping(opened, "S-1", "for a dispute", kept_back=back)
    assert "kept back for a dispute" in answer["warnings"][0]


def test_priority_and_due_sort_and_overdue_is_said_in_words(opened, sample, clock):
    today = clock().date()
    for name, priority, days in (("S-2", "urgent", 0), ("S-3", "routine", 3)):
        due = (today + timedelta(days=days)).isoformat()
        samples.receive_sample(opened, replace(sample, id=name, priority=priority, due=due))
    with pytest.raises(InputError, match="is past"):
        samples.receive_sample(opened, replace(sample, id="S-4", due="2026-03-01"))
    lines = {line["id"]: line for line in finding.listed(opened, finding.sample_query(opened))}
    assert [lines[name]["due_words"] for name in ("S-1", "S-2", "S-3")] == [
        "",
        "due today",
        "due in 3 days",
    ]
    clock.forward(days=2)
    query = finding.sample_query(opened, overdue=True)
    (late,) = finding.listed(opened, query)
    assert (late["id"], late["due_words"]) == ("S-2", "overdue by 2 days")
    urgent = finding.listed(opened, finding.sample_query(opened, urgent=True))
    assert [line["id"] for line in urgent] == ["S-2"]


def test_a_poor_condition_waits_for_the_customer_and_the_report_says_so(
    opened, sample, request_test, follow, clock
):
    values = tuple(at(text) for text in ("49.5", "50.0"))
    verifying.verify_apparatus(opened, "SC-1", "RM-1", values)
    customer.question_condition(opened, "S-1", "cap was loose")
    test = request_test()
    assert overview.sample_overview(opened, "S-1")["state"] == "waits for the customer"
    planning.make_plan(opened, test.id, "SC-1", PRESSURE)

    def begin():
        return beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station")

    with pytest.raises(Refused, match="not heard yet"):
        begin()
    customer.record_go_ahead(opened, "S-1", "C. Owner", "telephone", "wait", proceed=False)
    with pytest.raises(Refused, match=r"C\. Owner asked not to test"):
        begin()
    clock.forward(minutes=2)
    customer.record_go_ahead(opened, "S-1", "C. Owner", "letter", "test it as it is")
    follow(begin().id, 14.0)
    result = results.issue_result(opened, test.id)
    results.release_result(opened, result.id)
    report = reporting.issue_report(opened, result.id)
    record = json.loads(reporting.report_record(opened, report.number))
    (said,) = [line for line in record["result"]["deviations"] if "cap was loose" in line]
    assert "Tested at the request of C. Owner (letter, 2026-03-02): test it as it is." in said


def test_a_sample_is_not_disposed_of_early_or_in_dispute(opened, reported, clock):
    (line,) = retention.disposal_list(opened)
    assert (line["keep_until"], line["may_go"]) == ("2026-03-12", False)
    with pytest.raises(Refused, match="kept until 2026-03-12"):
        retention.dispose(opened, "S-1", "solvent waste")
    clock.forward(days=11)
    dispute = disputes.raise_dispute(opened, reported.id, "we found 30", "the customer", at(30))
    with pytest.raises(Refused, match=f"Dispute {dispute['id']}"):
        retention.dispose(opened, "S-1", "solvent waste", early_because="no room")


def test_disposal_says_as_which_waste_and_what_to_mind_and_ends_the_sample(
    opened, reported, request_test, clock
):
    clock.forward(days=11)
    assert retention.disposal_list(opened)[0]["may_go"]
    facts = retention.disposal_facts(opened, "S-1")
    assert reported.id in facts["waste_class"]
    assert "CLP: " in facts["waste_class"]
    assert any("earth" in line for line in facts["cautions"])
    assert any("Pour it cold" in line for line in facts["cautions"])
    gone = retention.dispose(opened, "S-1", "drum 7, flammable solvents")
    assert gone["disposed"]["early_because"] == ""
    assert overview.sample_overview(opened, "S-1")["state"] == "disposed of"
    assert retention.disposal_list(opened) == []
    for act in (
        lambda: custody.open_sample(opened, "S-1", "a look"),
        lambda: retention.dispose(opened, "S-1", "again"),
        lambda: custody.hand_over(opened, "S-1", "bw", "nowhere"),
        request_test,
    ):
        with pytest.raises(Refused, match="was disposed of on 2026-03-13"):
            act()


def test_a_call_about_a_result_outside_its_limit_is_logged(opened, sample, to_its_report, command):
    result = to_its_report(limit=">=23 degC")
    words = ["told", result.id, "--customer", "C. Owner", "--way", "telephone", "--said", "noted"]
    assert command(*words)[0] == 0
    (call,) = view.keeping_of(opened, "S-1")["told_out_of_specification"]
    assert (call["told"], call["said"], call["entered_by"]) == ("C. Owner", "noted", "at")
    said = [row["what"] for row in history.history_of(opened, "S-1")]
    assert f"C. Owner was told of {result.id} (telephone" in " ".join(said)
    early = ["--at", "2030-01-01T07:00:00+01:00"]
    assert "to come" in command(*words, *early)[2]


def test_a_label_holds_the_page_and_nothing_personal(opened, sample, monkeypatch):
    monkeypatch.delenv("CLOSEDCUP_ADDRESS", raising=False)
    assert labels.label_of(opened, "S-1").code == "S-1"
    label = labels.label_of(opened, "S-1", "https://lab.example:8460/")
    assert label.code == "https://lab.example:8460/samples/S-1"
    assert sample.customer not in str(label)
    svg = labels.label_file(opened, "S-1", "a.svg", "https://lab.example").decode()
    assert svg.startswith("<svg")
    assert ">S-1</text>" in svg
    assert labels.label_file(opened, "S-1", "a.pdf").startswith(b"%PDF")
    assert labels.label_sheet(opened, ["S-1"] * 30, skip=5).startswith(b"%PDF")
    with pytest.raises(InputError, match="names no form"):
        labels.label_file(opened, "S-1", "a.gif")
    with pytest.raises(InputError, match="not the address"):
        labels.label_of(opened, "S-1", "lab.example")


def test_search_finds_everything_and_filters_are_kept_by_name(opened, reported):
    def found(words):
        return {(hit["what"], hit["id"]) for hit in finding.search(opened, words)}

    assert found("small-scale") == {("apparatus", "SC-1")}
    assert found("wren") == {("person", "bw")}
    assert found("C-1 lot") == {("reference material", "RM-1")}
    assert ("result", reported.id) in found(reported.id)
    assert {what for what, _ in found("S-1")} >= {"sample", "test", "result", "report"}
    assert found("nowhere at all") == set()
    finding.save_filter(opened, "to do", "solvent", states=["planned"])
    assert [each["name"] for each in finding.saved_filters(opened)] == ["to do"]
    finding.drop_filter(opened, "to do")
    assert finding.saved_filters(opened) == []
    with pytest.raises(InputError, match="is ever “lost”"):
        finding.sample_query(opened, states=["lost"])


def test_the_desk_works_from_the_command_line(opened, sample, command, tmp_path):
    del opened, sample
    file = tmp_path / "label.svg"
    assert command("label", "S-1", "--to", str(file))[0] == 0
    assert file.read_text().startswith("<svg")
    moved = ["hand-over", "S-1", "--to", "at", "--place", "bench A", "--json"]
    assert json.loads(command(*moved)[1])["place"] == "bench A"
    assert command("open", "S-1", "--why", "a look", "--shows", "4 degC")[0] == 0
    assert command("left", "S-1", "--volume=-3 mL", "--why", "x")[0] == 2
    assert command("keep", "S-1", "--due", "2020-01-01", "--reason", "x")[0] == 2
    assert command("dispose", "S-1", "--how", "drum")[0] == 3
    assert command("save-filter", "mine", "solvent", "--state", "received")[0] == 0
    status, out, _ = command("samples", "--filter", "mine", "--json")
    assert (status, [line["id"] for line in json.loads(out)]) == (0, ["S-1"])
    status, out, _ = command("search", "solvent", "--json")
    assert json.loads(out)[0]["what"] == "sample"


def test_a_list_brings_what_was_agreed_and_agreeing_anew_does_not_make_it_another(
    opened, command, tmp_path
):
    file = tmp_path / "samples.csv"
    file.write_text(
        "sample,name,volume [mL],priority,due on,retention\nX-1,oil,90,urgent,2026-03-09,20\n"
    )
    taken = json.loads(command("import", "samples", str(file), "--record", "--json")[1])
    assert taken["recorded"] == 1
    found = opened.state.samples["X-1"]
    assert (found.priority, found.due, found.keep_days) == ("urgent", "2026-03-09", 20)
    retention.agree_keeping(opened, "X-1", "the customer asked", due="2026-03-20")
    again = json.loads(command("import", "samples", str(file), "--record", "--json")[1])
    assert (again["known"], again["recorded"]) == (1, 0)
    assert opened.state.samples["X-1"].due == "2026-03-20"


def test_the_index_in_the_database_answers_as_the_events_do(opened, sample, clock, monkeypatch):
    today = clock().date()
    soon = (today + timedelta(days=1)).isoformat()
    samples.receive_sample(
        opened, replace(sample, id="S-2", priority="urgent", due=soon, keep_until=soon)
    )
    clock.forward(days=3)
    asked = [
        SampleQuery(urgent=True),
        SampleQuery(due_before=clock().date().isoformat()),
        SampleQuery(kept_before=clock().date().isoformat()),
        SampleQuery(kept_before=soon),
    ]
    in_memory = [opened.sample_rows(query) for query in asked]
    assert [[row.sample for row in rows] for rows in in_memory] == [["S-2"]] * 3 + [[]]
    monkeypatch.setattr(following, "_LAG", 1)
    follower = following.Following(opened.store)
    follower.ledger()
    assert opened.store.projections.reach() == opened.store.head().seq
    assert [follower.cases.rows(query) for query in asked] == in_memory
