"""A session that ends under somebody's hands at the bench, and the pages about people."""

import sys
from importlib import import_module
from pathlib import Path

import pytest
from presses import BROWSER, entries, press
from test_every_state import AXE, TAGS

from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.people import accounts, signing_in
from closedcup.laboratory import Person
from closedcup.records.access_rules import access_rules

sys.path.insert(0, str(Path(__file__).parents[2]))
quick_records = import_module("quick_records").quick_records
PASSWORD = "four wet horses jump"

pytestmark = BROWSER


@pytest.fixture
def staffed(opened):
    with quick_records():
        establishing.register_person(opened, Person("ql", "quality lead"), "Person ql")
        accounts.make_account(opened, "ql", password=PASSWORD)
        opened.by, opened.signed_in = "ql", True
        start = accounts.make_account(opened, "an")["start_password"]
        signing_in.sign_in(opened, "an", start, new_password=PASSWORD)
        yield opened


def enter(page, person: str) -> None:
    page.get_by_label("Your id").fill(person)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def test_a_session_that_ends_under_a_press_loses_nothing(browser, series, staffed, clock) -> None:
    page = browser.page
    page.goto(f"/bench/{series}")
    enter(page, "an")
    page.get_by_label("Cup is set to, °C").fill("39.00")
    clock.forward(access_rules().idle_minutes * 60)
    page.get_by_role("button", name="Cup is set").click()
    page.get_by_text("Nothing was recorded yet").wait_for()
    assert not entries(staffed, series)
    enter(page, "an")
    page.get_by_role("button", name="Record it now").click()
    page.get_by_text("Specimen loaded").first.wait_for()
    (recorded,) = staffed.state.series[series].moves
    assert (recorded.by, str(recorded.move.cup_c)) == ("an", "39.0")
    browser.said[:] = [said for said in browser.said if "Failed to load resource" not in said]


def test_the_pages_about_people_are_accessible_and_fit_a_phone(browser, staffed) -> None:
    page, complaints = browser.page, {}

    def look(name: str) -> None:
        page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
        for width, scheme in ((1280, "light"), (390, "dark")):
            page.set_viewport_size({"width": width, "height": 844})
            page.emulate_media(color_scheme=scheme)
            if page.evaluate("document.documentElement.scrollWidth") > width:
                complaints[f"{name} at {width}"] = "wider than the screen"
            page.evaluate(AXE)
            found = page.evaluate("tags => axe.run({runOnly: tags})", TAGS)["violations"]
            if found:
                complaints[f"{name} at {width}"] = [each["id"] for each in found]

    page.goto("/sign-in")
    look("sign in")
    enter(page, "nobody")
    look("refused")
    enter(page, "ql")
    for path in ("/accounts", "/qualifications", "/person", "/people"):
        page.goto(path)
        look(path)
    press(page, "Register the person")
    browser.said[:] = [said for said in browser.said if "Failed to load resource" not in said]
    assert not complaints
