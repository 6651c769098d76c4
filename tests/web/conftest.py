"""A small laboratory made through the use-cases, and its pages."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import partial
from importlib import import_module
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from closedcup.app.opening import OpenLaboratory, open_laboratory
from closedcup.app.usecases.apparatus import establishing, verifying
from closedcup.app.usecases.bench import beginning
from closedcup.app.usecases.desk import samples
from closedcup.app.usecases.planning import planning
from closedcup.app.web.application import create_app
from closedcup.laboratory import (
    Apparatus,
    Component,
    Composition,
    Person,
    ProbeCheck,
    ReferenceMaterial,
    RequestedTest,
    Sample,
    ServiceAnswer,
    Site,
    service_checklist,
)
from closedcup.quantities import parse_limit, parse_pressure, parse_temperature

ADDRESS = "http://127.0.0.1:8460"
PRESSURE = parse_pressure("84.6 kPa")
COMPOSITION = Composition("declared", "mass", (Component("n-decane", Decimal(1)),))


@pytest.fixture(autouse=True, scope="module")
def quickly() -> Iterator[None]:
    """Wait for no disk, and hash at the least costs: tests/records tries what these are worth."""
    with import_module("quick_records").quick_records():
        yield


class SetClock:
    """A clock that stands still until it is set."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def forward(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)


def furnish(opened: OpenLaboratory) -> None:
    """People, one verified apparatus with a detector, a sample with a planned test."""
    establishing.establish(opened, Site("Test laboratory", "1 Bench Row", "desk", 1500.0))
    for person, role in (("an", "analyst"), ("re", "reviewer")):
        establishing.register_person(opened, Person(person, role), f"Person {person}")
    establishing.register_apparatus(
        opened,
        Apparatus(
            id="SC-1",
            description="Small-scale closed cup",
            serial="1",
            location="bench",
            methods=("d3828-a", "d3828-b", "d7236"),
            lowest_cup_c=Decimal(-20),
            highest_cup_c=Decimal(300),
            igniter="gas",
            has_detector=True,
        ),
    )
    answers = tuple(
        ServiceAnswer(item.id, done=True, finding="as found") for item in service_checklist().items
    )
    establishing.put_into_service(opened, "SC-1", answers)
    establishing.record_probe_check(opened, ProbeCheck("SC-1", None, "", "2026-01-09"))
    establishing.receive_reference_material(
        opened,
        ReferenceMaterial(
            "RM-1", "n-decane", "1", "d3828-b", Decimal("49.7"), "certificate", "2099-12-31"
        ),
    )
    verifying.verify_apparatus(
        opened, "SC-1", "RM-1", tuple(parse_temperature(f"{t} degC") for t in (49.5, 50.0, 49.5))
    )


def receive(opened: OpenLaboratory, description: str = "Solvent", **facts: object) -> str:
    sample = Sample(
        id=samples.next_sample_id(opened),
        description=description,
        customer="A customer",
        customer_contact="",
        received_at=opened.clock().isoformat(),
        condition="",
        container="",
        volume_ml=Decimal(100),
        composition=COMPOSITION,
        kind="solvent",
        **facts,
    )
    samples.receive_sample(opened, sample)
    return sample.id


def begin(
    opened: OpenLaboratory,
    *,
    limit: str | None = None,
    method: str = "d3828-b",
    expected: str | None = None,
) -> str:
    """Receive a sample, agree and plan its test, begin a series; return the series."""
    sample_id = receive(opened)
    test = RequestedTest(
        id=samples.next_test_id(opened, sample_id),
        sample=sample_id,
        method=method if limit is None else "d3828-a",
        kind="finite" if limit is None else "limit",
        limit=None if limit is None else parse_limit(limit),
        decision_rule="" if limit is None else "simple",
    )
    samples.request_test(opened, test)
    planning.make_plan(
        opened,
        test.id,
        "SC-1",
        PRESSURE,
        expected=None if expected is None else parse_temperature(expected),
    )
    return beginning.begin_series(opened, test.id, "SC-1", PRESSURE, pressure_kind="station").id


@pytest.fixture
def clock() -> SetClock:
    return SetClock()


@pytest.fixture
def opened(tmp_path: Path, clock: SetClock) -> Iterator[OpenLaboratory]:
    """The laboratory as another program sees it, beside the pages."""
    with open_laboratory(f"sqlite:///{tmp_path}/records.sqlite", by="an", clock=clock) as made:
        furnish(made)
        yield made


@pytest.fixture
def pages(opened: OpenLaboratory, tmp_path: Path, clock: SetClock) -> Iterator[TestClient]:
    def open_records() -> OpenLaboratory:
        return open_laboratory(f"sqlite:///{tmp_path}/records.sqlite", by="an", clock=clock)

    client = TestClient(
        create_app(open_records),
        base_url=ADDRESS,
        follow_redirects=False,
        headers={"Origin": ADDRESS, "Sec-Fetch-Site": "same-origin"},
    )
    with client:
        yield client


@pytest.fixture
def press(pages: TestClient) -> Callable[..., object]:
    """Press a button of the bench page."""

    def pressed(series: str, button: str, key: str, **fields: str) -> object:
        return pages.post(f"/bench/{series}", data={"press": button, "key": key, **fields})

    return pressed


@pytest.fixture
def begun(opened: OpenLaboratory) -> Callable[..., str]:
    """Begin one more series, for a finite flash point or at a limit."""
    return partial(begin, opened)


@pytest.fixture
def series(begun: Callable[..., str]) -> str:
    return begun()
