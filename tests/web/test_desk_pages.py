"""The desk on pages: a sample's keeping, its label, the list with its filters, the search."""

import re
from decimal import Decimal

import pytest

from closedcup.app.usecases.bench import benching
from closedcup.app.usecases.desk import custody, finding, samples
from closedcup.app.usecases.desk.view import keeping_of
from closedcup.app.usecases.results import results
from closedcup.laboratory import Composition, Sample
from closedcup.methods import Observation


@pytest.fixture
def pages(pages):
    """Follow a recorded form to the page that shows it."""
    pages.follow_redirects = True
    return pages


@pytest.fixture
def receive(opened):
    """Take a sample in, described so; return its number."""

    def take(description: str = "Solvent", **facts: str) -> str:
        taken = Sample(
            id=samples.next_sample_id(opened),
            description=description,
            customer="A customer",
            customer_contact="",
            received_at=opened.clock().isoformat(),
            condition="",
            container="",
            volume_ml=Decimal(100),
            composition=Composition("unknown"),
            **facts,
        )
        return samples.receive_sample(opened, taken).id

    return take


@pytest.fixture
def post(pages):
    """Send a form of the keeping part as the page shows it; return the answer."""

    def send(act: str, sample: str = "S-0001", **typed: str):
        page = pages.get(f"/samples/{sample}").text
        form = re.search(rf'keeping/{act}".*?</form>', page, re.DOTALL).group()
        hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))
        address = f"/samples/{sample}/keeping/{act}"
        return pages.post(address, data=hidden | typed)

    return send


@pytest.fixture
def sample(receive) -> str:
    return receive()


def test_the_chain_of_custody_is_kept_on_the_page(pages, opened, sample, post):
    assert "nobody was recorded yet" in pages.get("/samples/S-0001").text
    answer = post("hand-over", to="an", place="cold store, shelf 2")
    assert "Person an, cold store, shelf 2" in answer.text
    answer = post("open", shows="4,5", why="to take a specimen")
    assert keeping_of(opened, sample)["openings"][0]["temperature_c"] == 4.5
    assert "4.5" in answer.text
    answer = post("left", left_ml="60", left_why="spilt")
    assert "60 mL of 100 mL" in answer.text
    answer = post("left", left_ml="-1", left_why="spilt")
    assert answer.status_code == 400
    assert "cannot be left" in answer.text
    assert 'value="spilt"' in answer.text


def test_who_comes_second_is_told_and_nothing_typed_is_lost(pages, opened, sample):
    page = pages.get("/samples/S-0001").text
    form = re.search(r'keeping/open".*?</form>', page, re.DOTALL).group()
    hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))
    custody.open_sample(opened, sample, "a look")
    typed = hidden | {"shows": "3", "why": "my own words"}
    answer = pages.post("/samples/S-0001/keeping/open", data=typed)
    assert answer.status_code == 409
    assert "meanwhile" in answer.text
    assert "my own words" in answer.text


def test_a_poor_condition_is_asked_about_and_the_answer_shown(pages, sample, post):
    answer = post("question", what="the cap was loose")
    assert "Testing waits for the customer" in answer.text
    answer = post("go-ahead", customer="C. Owner", way="telephone")
    assert answer.status_code == 400
    answer = post(
        "go-ahead", customer="C. Owner", way="telephone", words="test it", decision="proceed"
    )
    assert "Testing waits" not in answer.text
    assert "C. Owner (telephone" in answer.text


def test_agreeing_anew_and_disposing_ask_for_reasons(pages, sample, post):
    answer = post("agree", priority="urgent", due="2026-03-01", reason="asked")
    assert answer.status_code == 400
    assert "is past" in answer.text
    answer = post("agree", priority="urgent", due="2026-03-03", keep_days="30", reason="asked")
    assert "due tomorrow" in answer.text
    answer = post("dispose", how="drum 7")
    assert (answer.status_code, "may not go yet" in answer.text) == (422, True)
    answer = post("dispose", how="drum 7", early_because="the customer asked")
    assert "disposed of" in answer.text
    assert "Open it" not in answer.text
    assert "Request a test" not in answer.text


def test_the_form_of_receipt_asks_what_the_desk_must_know(pages):
    page = pages.get("/samples/new").text
    key = re.search(r'name="key" value="([^"]*)"', page).group(1)
    typed = {
        "key": key,
        "description": "thinner",
        "customer": "somebody",
        "customer_contact": "desk",
        "volume_ml": "100",
        "priority": "urgent",
        "due": "2026-02-01",
        "keep_days": "30",
        "in_doubt": "yes",
    }
    answer = pages.post("/samples/new", data=typed)
    assert answer.status_code == 400
    assert "is past" in answer.text
    assert "Say what is wrong" in answer.text
    typed |= {"due": "2026-03-02", "condition": "leaking", "kept_back_ml": "20"}
    answer = pages.post("/samples/new", data=typed)
    assert "due today" in answer.text
    assert "Testing waits for the customer" in answer.text


def test_the_list_sorts_by_urgency_and_keeps_filters(pages, opened, sample, receive):
    receive("Urgent one", priority="urgent", due="2026-03-02")
    page = pages.get("/").text
    assert page.index("Urgent one") < page.index("Solvent")
    assert "due today" in page
    assert "Urgent one" not in pages.get("/?q=solvent").text
    assert "Solvent" not in pages.get("/?urgent=yes").text
    key = re.search(r'name="key" value="([^"]*)"', pages.get("/?urgent=yes").text).group(1)
    typed = {"key": key, "name": "now", "urgent": "yes"}
    answer = pages.post("/filters", data=typed)
    assert "Urgent one" in answer.text
    assert [each["name"] for each in finding.saved_filters(opened)] == ["now"]
    assert 'href="/?filter=now"' in pages.get("/").text
    assert pages.get("/?filter=none").status_code == 400
    assert pages.get("/?state=lost").status_code == 400
    assert pages.get("/?q=S-0002").url.path == "/samples/S-0002"


def test_search_labels_and_disposals_have_pages(pages, sample):
    assert "Small-scale closed cup" in pages.get("/search?q=small-scale").text
    assert "Nothing on record" in pages.get("/search?q=nonsense").text
    svg = pages.get("/samples/S-0001/label.svg")
    assert svg.headers["content-type"].startswith("image/svg+xml")
    assert pages.get("/samples/S-0001/label.pdf").content.startswith(b"%PDF")
    assert pages.get("/labels?sample=S-0001&skip=3").content.startswith(b"%PDF")
    assert pages.get("/labels").status_code == 400
    assert "No finished sample" in pages.get("/disposals").text


def test_a_result_outside_its_limit_asks_for_the_call(pages, opened, clock, begun, post):
    series = begun(limit=">=60 degC")
    cup = Decimal(f"{benching.bench(opened, series).instruction.cup_c:.1f}")
    benching.set_cup(opened, series, cup)
    benching.load_specimen(opened, series, cup)
    clock.forward(60)
    view = benching.apply_igniter(opened, series, cup, Observation.FLASH, detector=True)
    while view.outcome is None and view.instruction.action != "done":
        benching.load_specimen(opened, series, cup)
        clock.forward(60)
        view = benching.apply_igniter(opened, series, cup, Observation.FLASH, detector=True)
    result = results.issue_result(opened, view.test.id)
    assert (
        f"{result.id} is outside its limit: tell the customer" in pages.get("/samples/S-0001").text
    )
    answer = post("told", told="C. Owner", way="telephone", said="they send another")
    assert "they send another" in answer.text
    assert "tell the customer" not in answer.text
