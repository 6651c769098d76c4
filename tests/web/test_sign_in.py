"""Sessions of the pages: what a browser gets, what it may send, and what a thief would get."""

import re
from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from closedcup.app.opening import open_laboratory
from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.people import accounts, signing_in, working_rules
from closedcup.app.web.application import _FOR_EVERYBODY, _PAGES, create_app
from closedcup.app.web.security import Place
from closedcup.app.web.serving import Beyond, place_beyond
from closedcup.errors import Refused
from closedcup.laboratory import Person

PASSWORD = "four wet horses jump"


@pytest.fixture
def staffed(opened):
    """The laboratory of the pages with accounts of `ql`, a quality lead, and `an`, an analyst."""
    establishing.register_person(opened, Person("ql", "quality lead"), "Person ql")
    accounts.make_account(opened, "ql", password=PASSWORD)
    opened.by, opened.signed_in = "ql", True
    start = accounts.make_account(opened, "an")["start_password"]
    signing_in.sign_in(opened, "an", start, new_password=PASSWORD)
    return opened


@pytest.fixture
def enter(pages: TestClient, staffed) -> Callable[..., object]:
    def entering(person: str = "an", password: str = PASSWORD, **more: str):
        return pages.post("/sign-in", data={"person": person, "password": password, **more})

    return entering


def token(answer) -> str:
    return re.search(r"session=([^;]*);", answer.headers["set-cookie"])[1]


def test_no_page_is_shown_and_no_form_taken_without_signing_in(pages, staffed):
    before = staffed.store.head()
    for method, path, handler in _PAGES:
        if handler not in _FOR_EVERYBODY:
            answer = pages.request(method, re.sub(r"{\w+}", "S-0001", path))
            assert (path, answer.status_code) == (path, 401)
            assert 'action="/sign-in"' in answer.text
    assert staffed.store.head() == before


@pytest.mark.usefixtures("staffed")
def test_the_programs_interface_asks_too(pages):
    answer = pages.get("/api/samples")
    assert answer.json()["error"]["kind"] == "sign-in-needed"


def test_programs_get_what_the_commands_print(pages, enter, staffed):
    enter("ql")
    staffed.by = "ql"
    assert pages.get("/api/accounts").json() == accounts.people_and_accounts(staffed)
    assert pages.get("/api/working-rules").json() == working_rules.rules_in_force(staffed)
    assert pages.get("/api/qualifications?person=an").json() == []
    assert pages.get("/api/qualifications?person=nobody").status_code == 400
    assert pages.get("/api/results/R-0001/sign").status_code == 404


def test_the_cookie_is_out_of_reach_of_scripts_and_foreign_pages(enter):
    answer = enter()
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    flags = {part.strip().lower() for part in answer.headers["set-cookie"].split(";")}
    assert {"httponly", "samesite=strict", "path=/"} <= flags
    assert "domain" not in answer.headers["set-cookie"].lower()


def test_encrypted_the_cookie_goes_nowhere_else(staffed, tmp_path, clock):
    place = Place(frozenset({"lab.example"}), encrypted=True)
    url = f"sqlite:///{tmp_path}/records.sqlite"
    headers = {"Origin": "https://lab.example", "Sec-Fetch-Site": "same-origin"}
    application = create_app(lambda: open_laboratory(url, clock=clock), place)
    with TestClient(
        application, base_url="https://lab.example", headers=headers, follow_redirects=False
    ) as client:
        answer = client.post("/sign-in", data={"person": "an", "password": PASSWORD})
        assert answer.headers["set-cookie"].startswith("__Host-session=")
        assert "secure" in answer.headers["set-cookie"].lower()
        assert "max-age" in answer.headers["strict-transport-security"]
        assert client.get("/").status_code == 200
        plain = client.post("/sign-out", headers={"Origin": "http://lab.example"})
        assert plain.status_code == 403
        assert client.get("/", headers={"Host": "127.0.0.1"}).status_code == 421


def test_a_session_planted_before_is_not_taken_up(pages, enter, staffed):
    """Session fixation: whoever planted a token has nothing after the sign-in."""
    mine = signing_in.sign_in(staffed, "ql", PASSWORD)
    for planted in ("a token of my own making", mine):
        pages.cookies.set("session", planted)
        given = token(enter())
        assert given != planted
        pages.cookies.clear()
        pages.cookies.set("session", planted)
        assert pages.get("/").status_code == 401


def test_each_sign_in_ends_the_session_that_the_browser_had(pages, enter):
    first = token(enter())
    second = token(enter())
    assert first != second
    pages.cookies.clear()
    pages.cookies.set("session", first)
    assert pages.get("/").status_code == 401


def test_signing_out_ends_it_for_a_copy_of_the_cookie_too(pages, enter):
    copied = token(enter())
    assert pages.get("/").status_code == 200
    assert pages.post("/sign-out").headers["location"] == "/sign-in"
    pages.cookies.set("session", copied)
    assert pages.get("/").status_code == 401


def test_a_disabled_person_is_out_with_the_next_press(pages, enter, staffed):
    enter()
    staffed.by, staffed.signed_in = "ql", True
    accounts.disable_account(staffed, "an", "left")
    assert pages.get("/").status_code == 401


def test_a_foreign_page_can_neither_sign_in_nor_out(pages, enter, staffed):
    enter()
    foreign = {"Origin": "http://lab.example", "Sec-Fetch-Site": "cross-site"}
    typed = {"person": "an", "password": PASSWORD}
    assert pages.post("/sign-in", data=typed, headers=foreign).status_code == 403
    assert pages.post("/sign-out", headers=foreign).status_code == 403
    assert pages.get("/").status_code == 200


@pytest.mark.parametrize("person", ["an", "nobody"])
def test_the_page_tells_nobody_who_has_an_account(enter, person):
    answer = enter(person, "wrong and wrong")
    assert answer.status_code == 403
    assert "do not let you in" in answer.text
    assert PASSWORD not in answer.text
    assert "wrong and wrong" not in answer.text


@pytest.mark.parametrize("then", ["//lab.example/", "https://lab.example", "/\\lab.example", "x"])
def test_the_sign_in_leads_to_our_own_pages_only(enter, then):
    assert enter(then=then).headers["location"] == "/"


def test_what_was_typed_is_kept_over_the_sign_in_and_recorded_once(pages, enter, staffed, clock):
    enter()
    clock.forward(3600)
    typed = {"description": "Typed <before>", "customer": "x", "volume_ml": "50", "key": "k-1"}
    typed["customer_contact"] = "desk"
    asked = pages.post("/samples/new", data=typed)
    assert asked.status_code == 401
    kept = dict(re.findall(r'name="(kept-[^"]+)" value="([^"]*)"', asked.text))
    assert kept["kept-key"] == "k-1"
    assert kept["kept-description"] == "Typed &lt;before&gt;"
    again = enter(then="/samples/new", **{**kept, "kept-description": "Typed <before>"})
    assert 'action="/samples/new"' in again.text
    assert not staffed.state.samples
    assert pages.post("/samples/new", data=typed).status_code == 303
    (sample,) = staffed.state.samples.values()
    assert sample.description == "Typed <before>"
    assert list(staffed.store.read())[-1].by == "an"


def test_no_password_is_carried_over_a_sign_in(pages, enter, clock):
    enter()
    clock.forward(3600)
    asked = pages.post("/person/password", data={"password": "p" * 20, "new_password": "n" * 20})
    assert "p" * 20 not in asked.text
    assert "n" * 20 not in asked.text


def test_the_person_cookie_counts_for_nothing_where_people_sign_in(pages, enter):
    pages.cookies.set("person", "ql")
    enter("an")
    assert "Person an" in pages.get("/").text
    assert pages.get("/accounts").status_code == 422
    assert "not among your rights" in pages.get("/accounts").text


def test_the_page_says_who_is_signed_in_and_lets_them_leave(pages, enter):
    enter()
    text = pages.get("/").text
    assert "signed in as" in text
    assert 'action="/sign-out"' in text


def test_beyond_this_pc_takes_accounts_and_a_certificate(opened, tmp_path):
    file = tmp_path / "lab.pem"
    file.write_text("x")
    beyond = Beyond("0.0.0.0", ("lab.example",), str(file), str(file))
    with pytest.raises(Refused, match="Without accounts"):
        place_beyond(opened, beyond)
    establishing.register_person(opened, Person("ql", "quality lead"), "Person ql")
    accounts.make_account(opened, "ql", password=PASSWORD)
    with pytest.raises(Refused, match="Without a certificate"):
        place_beyond(opened, Beyond("0.0.0.0", ("lab.example",), "", ""))
    assert place_beyond(opened, beyond) == Place(frozenset({"lab.example"}), encrypted=True)


def test_a_quality_lead_makes_the_first_account_and_the_others_on_a_page(pages, opened):
    establishing.register_person(opened, Person("ql", "quality lead"), "Person ql")
    typed = {"person": "ql", "password": PASSWORD, "again": "another one that differs"}
    assert "not the same" in pages.post("/accounts", data=typed).text
    made = pages.post("/accounts", data=typed | {"again": PASSWORD})
    assert made.headers["location"] == "/sign-in"
    pages.post("/sign-in", data={"person": "ql", "password": PASSWORD})
    told = pages.post("/accounts/an", data={"press": "make"}).text
    start = re.search(r"[a-z2-9]{5}(-[a-z2-9]{5}){3}", told)[0]
    assert start not in pages.get("/accounts").text
    pages.cookies.clear()
    typed = {"person": "an", "password": start}
    assert "choose one of your own" in pages.post("/sign-in", data=typed).text
    typed["new_password"] = "tall green cups of tea"
    assert pages.post("/sign-in", data=typed).headers["location"] == "/"
