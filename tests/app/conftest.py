"""A small laboratory in a file of its own, and a clock that the test sets."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from importlib import import_module
from pathlib import Path

import pytest

from closedcup.app.entry import run
from closedcup.app.opening import OpenLaboratory, open_laboratory
from closedcup.app.usecases.apparatus import establishing
from closedcup.app.usecases.bench import benching
from closedcup.app.usecases.desk import samples
from closedcup.laboratory import (
    Apparatus,
    Component,
    Composition,
    Person,
    ReferenceMaterial,
    RequestedTest,
    Sample,
    ServiceAnswer,
    Site,
    service_checklist,
)
from closedcup.methods import Observation
from closedcup.quantities import parse_limit


@pytest.fixture(autouse=True, scope="module")
def quickly() -> Iterator[None]:
    """Wait for no disk, and hash at the least costs: tests/records tries what these are worth."""
    with import_module("quick_records").quick_records():
        yield


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.now = datetime.fromisoformat("2026-03-02T07:00:00+01:00")

    def __call__(self) -> datetime:
        return self.now

    def forward(self, **amount: float) -> None:
        self.now += timedelta(**amount)


@pytest.fixture
def database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    url = f"sqlite:///{(tmp_path / 'laboratory.sqlite').as_posix()}"
    monkeypatch.setenv("CLOSEDCUP_DATABASE", url)
    monkeypatch.setenv("CLOSEDCUP_PERSON", "at")
    return url


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def opened(database: str, clock: Clock) -> Iterator[OpenLaboratory]:
    """Open a laboratory with two people and one apparatus in service, not yet verified."""
    with open_laboratory(database, by="at", clock=clock) as laboratory:
        establishing.establish(laboratory, Site("Test house", "1 Lane", "desk", 1520.0))
        establishing.register_person(laboratory, Person("at", "analyst"), "A. Tern")
        establishing.register_person(laboratory, Person("bw", "reviewer"), "B. Wren")
        establishing.register_apparatus(
            laboratory,
            Apparatus(
                id="SC-1",
                description="small-scale cup",
                serial="1",
                location="bench A",
                methods=("d3828-a", "d3828-b", "d7236"),
                lowest_cup_c=Decimal(-20),
                highest_cup_c=Decimal(300),
                igniter="gas flame",
            ),
        )
        establishing.put_into_service(
            laboratory,
            "SC-1",
            tuple(
                ServiceAnswer(item.id, done=True, finding="as asked")
                for item in service_checklist().items
            ),
        )
        establishing.receive_reference_material(
            laboratory,
            ReferenceMaterial(
                id="RM-1",
                liquid="test liquid",
                lot="1",
                method="d3828-b",
                value_c=Decimal("49.7"),
                certificate="C-1",
                expires_on="2027-01-01",
            ),
        )
        yield laboratory


@pytest.fixture
def sample(opened: OpenLaboratory) -> Sample:
    """Receive a binary blend with plenty of volume."""
    return samples.receive_sample(
        opened,
        Sample(
            id="S-1",
            description="solvent",
            customer="somebody",
            customer_contact="desk",
            received_at=opened.clock().isoformat(),
            condition="clear",
            container="glass",
            volume_ml=Decimal(200),
            composition=Composition(
                "declared",
                "mole",
                (Component("octane", Decimal("0.5")), Component("ethanol", Decimal("0.5"))),
            ),
            kind="petroleum",
        ),
    )


@pytest.fixture
def request_test(opened: OpenLaboratory, sample: Sample) -> Callable[..., RequestedTest]:
    """Request a test on the sample, finite unless a limit is given."""

    def make(method: str = "d3828-b", limit: str | None = None) -> RequestedTest:
        return samples.request_test(
            opened,
            RequestedTest(
                id=samples.next_test_id(opened, sample.id),
                sample=sample.id,
                method=method,
                kind="limit" if method.endswith("-a") else "finite",
                limit=None if limit is None else parse_limit(limit),
                decision_rule="" if limit is None else "simple",
            ),
        )

    return make


@pytest.fixture
def follow(opened: OpenLaboratory, clock: Clock) -> Callable[[str, float], benching.BenchView]:
    """Follow the bench's instructions with a liquid of a known flash point until the end."""

    def to_the_end(series: str, true_corrected_c: float) -> benching.BenchView:
        view = benching.bench(opened, series)
        for _ in range(100):
            step = view.instruction
            cup_c = Decimal(f"{step.cup_c:.1f}")
            clock.forward(minutes=1)
            match step.action:
                case "set cup":
                    view = benching.set_cup(opened, series, cup_c)
                case "load specimen":
                    view = benching.load_specimen(opened, series, cup_c)
                case "await recovery":
                    view = benching.note_recovery(opened, series, cup_c)
                case "start ramp":
                    view = benching.start_ramp(opened, series, cup_c, automatic=False)
                case "wait and apply":
                    if step.dwell_s is not None:
                        clock.forward(seconds=step.dwell_s - 60)
                    flashes = view.state.corrected(float(cup_c)) >= true_corrected_c
                    seen = Observation.FLASH if flashes else Observation.NO_FLASH
                    view = benching.apply_igniter(opened, series, cup_c, seen)
                case _:
                    return view
        raise AssertionError("the series did not end")

    return to_the_end


@pytest.fixture
def command(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Run one command in this process; return its exit status, output and errors."""

    def execute(*words: str) -> tuple[int, str, str]:
        status = run(list(words))
        captured = capsys.readouterr()
        return status, captured.out, captured.err

    return execute
