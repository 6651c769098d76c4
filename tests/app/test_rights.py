"""Who may do what: the table, the page made of it, and every role trying every use-case."""

import inspect
import re
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from unittest.mock import MagicMock

import pytest

from closedcup.app.opening import OpenLaboratory, open_laboratory
from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.people import accounts
from closedcup.demo import run_demo
from closedcup.errors import ClosedcupError, Refused
from closedcup.laboratory import Person, Site
from closedcup.laboratory.people import ROLES
from closedcup.laboratory.rights import rights
from closedcup.records import folding

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tools"))
rights_page = import_module("rights_page")
USE_CASES = rights_page.use_cases()
PASSWORD = "four wet horses jump"


@pytest.fixture(scope="module")
def laboratory(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenLaboratory]:
    """A laboratory with accounts, and one person for each role, who bears its name."""
    file = tmp_path_factory.mktemp("rights") / "lab.sqlite"
    with open_laboratory(f"sqlite:///{file.as_posix()}") as opened:
        establishing.establish(opened, Site("Test house", "1 Lane", "desk", 200.0))
        for role in ROLES:
            establishing.register_person(opened, Person(role.replace(" ", "-"), role), role)
        accounts.make_account(opened, "quality-lead", password=PASSWORD)
        opened.by, opened.signed_in = "quality-lead", True
        for role in ROLES:
            if role != "quality lead":
                accounts.make_account(opened, role.replace(" ", "-"))
        yield opened


@pytest.fixture
def staffed(laboratory: OpenLaboratory) -> OpenLaboratory:
    """The laboratory, for somebody who is signed in."""
    laboratory.signed_in = True
    return laboratory


def called(function, opened: OpenLaboratory, known: dict) -> str:
    """Call a use-case with whatever arguments; return how it refused, "" when it told something.

    What never looks into the records tells nothing.

    known: by parameter, what is read and judged before the records are looked at.
    """
    parameters = inspect.signature(function).parameters.values()
    known = {**known, "opened": opened}
    given = {
        each.name: known.get(
            each.name, ["x"] if "Sequence" in str(each.annotation) else MagicMock()
        )
        for each in parameters
        if each.default is inspect.Parameter.empty and each.kind != each.VAR_KEYWORD
    }
    looked = []
    reading = opened.store.reading
    opened.store.reading = lambda: looked.append(1) or reading()
    try:
        answer = function(**given)
        if inspect.isgenerator(answer):
            list(answer)
    except ClosedcupError as error:
        return error.kind
    except Exception as stumbled:  # noqa: BLE001 - a made-up argument can be stumbled over anyhow
        return f"judged its arguments first: {stumbled}"
    finally:
        del opened.store.reading
    return "" if looked else "does not look into the records"


def allowed(opened: OpenLaboratory, right: str, patch: pytest.MonkeyPatch) -> bool:
    """Try to use a right; return whether it was there, and see that nothing is written without."""
    written: list[str] = []

    def append_all(news, **_):
        written.extend(new.type for new in news)
        return list(news)

    patch.setattr(opened.store, "append_all", append_all)
    kinds = folding._APPLIERS.keys() | folding._MOVE_OF_EVENT.keys()
    try:
        if right in kinds:
            opened.record(right, "anything", {})
        else:
            opened.permit(right)
    except Refused as refused:
        return refused.kind != "right-missing" or bool(written)
    return written == [right] or right not in kinds


def test_every_kind_of_event_has_its_right():
    kinds = folding._APPLIERS.keys() | folding._MOVE_OF_EVENT.keys()
    assert kinds <= rights().keys(), "add a line to laboratory/data/rights.csv"


def test_use_cases_ask_only_for_rights_that_the_table_holds():
    asked = {right for each in USE_CASES.values() for right in each.rights}
    assert asked <= rights().keys(), "add a line to laboratory/data/rights.csv"


def test_the_page_is_current():
    assert rights_page.page() == rights_page.PAGE.read_text(encoding="utf-8"), (
        "run: python tools/rights_page.py"
    )


def test_nothing_is_recorded_past_the_one_place():
    past = re.compile(r"\.append_(all|many)\(|store\.append\(|\bNewEvent\(")
    for file in (ROOT / "src/closedcup").rglob("*.py"):
        part = file.relative_to(ROOT / "src/closedcup").parts
        if part[0] in {"app", "demo"} and part != ("app", "opening.py"):
            assert not past.search(file.read_text()), f"{file} records past OpenLaboratory.record"


@pytest.mark.parametrize("role", ROLES)
def test_each_role_may_what_the_table_says_in_every_use_case(staffed, role, monkeypatch):
    staffed.by = role.replace(" ", "-")
    for name, function in USE_CASES.items():
        for right in sorted(rights_page.asked_for(function)):
            may = role in rights()[right].roles
            assert allowed(staffed, right, monkeypatch) == may, f"{'.'.join(name)}: {right}"


def test_nobody_may_do_anything_without_signing_in(staffed, tmp_path):
    trace = tmp_path / "trace.csv"
    trace.write_text("time s,cup degC\n0,20\n1,21\n2,22\n")
    known = {
        "method_id": "d3828-b",
        "identifier": "d3828-b",
        "file": trace,
        "person": Person("x", "analyst"),
        "apparatus": MagicMock(methods=(), lowest_cup_c=0, highest_cup_c=1),
        "material": MagicMock(method="d3828-b"),
    }
    staffed.signed_in = False
    before, ends = staffed.store.head(), {}
    for module, function in sorted(USE_CASES.keys() - rights_page.NO_SIGN_IN):
        use_case = getattr(import_module(f"closedcup.app.usecases.{module}"), function)
        if "BenchView" in str(inspect.signature(use_case).parameters):
            continue  # only somebody signed in can have one
        ends[f"{module}.{function}"] = called(use_case, staffed, known)
    assert not [name for name, end in ends.items() if end == ""], "told somebody unknown"
    assert staffed.store.head() == before
    others = {name: end for name, end in ends.items() if end != "sign-in-needed"}
    assert len(others) <= 0.1 * len(ends), others


def test_the_demo_records_what_the_page_says_of_its_use_cases(tmp_path, monkeypatch):
    """What the use-cases ask for is read from their source: a whole job shows the same."""
    seen = set()
    record = OpenLaboratory.record

    def watched(self, kind, *arguments, **named):
        frame = sys._getframe(1)
        while frame is not None:
            module = frame.f_globals["__name__"]
            if module.startswith("closedcup.app.usecases."):
                seen.add(
                    ((module.removeprefix("closedcup.app.usecases."), frame.f_code.co_name), kind)
                )
            frame = frame.f_back
        return record(self, kind, *arguments, **named)

    monkeypatch.setattr(OpenLaboratory, "record", watched)
    run_demo(f"sqlite:///{(tmp_path / 'demo.sqlite').as_posix()}", quiet=True)
    assert len({kind for _, kind in seen}) > 15
    for name, kind in seen:
        assert name not in USE_CASES or kind in USE_CASES[name].rights, (name, kind)
