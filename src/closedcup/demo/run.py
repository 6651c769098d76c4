"""Make the invented laboratory and run the main job on it, step by step.

Every entry has a fixed key and a fixed time, so that running the demo again adds nothing, and an
interrupted run goes on where it stood.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from closedcup.app.opening import OpenLaboratory, open_laboratory
from closedcup.app.usecases.apparatus import establishing, verifying
from closedcup.app.usecases.bench import beginning, benching, days
from closedcup.app.usecases.desk import overview, samples
from closedcup.app.usecases.planning import planning
from closedcup.app.usecases.results import reporting, results
from closedcup.demo import desk, scenario
from closedcup.demo.display import Display
from closedcup.errors import Refused
from closedcup.laboratory import Apparatus, Evidence, Person, ProbeCheck, ReferenceMaterial
from closedcup.methods import Observation, method
from closedcup.quantities import parse_temperature
from closedcup.records import default_url

MAIN_SAMPLE = "S-0001"
_ENTRIES_LEFT_AT_THE_BENCH = 4


class SteppedClock:
    """A clock that shows the scenario's time; it is set before each step."""

    def __init__(self) -> None:
        self.now = scenario.day_begins_at()

    def __call__(self) -> datetime:
        """Return the scenario's time now."""
        return self.now


def run_demo(url: str | None, *, quiet: bool = False) -> dict[str, Any]:
    """Make the demo laboratory at a database address and run the main job on it.

    Without an address it lies beside the user's own records, in a file of its own. Refused where
    the records belong to a real laboratory.
    """
    address = url or default_url().replace("records.sqlite", "demonstration.sqlite")
    clock = SteppedClock()
    with open_laboratory(address, by="at", clock=clock) as opened:
        site = opened.state.site
        if (site is not None and not site.demonstration) or (site is None and opened.state.seq):
            raise Refused(
                "real-records",
                "These records belong to a real laboratory; the demo does not touch them.",
                where=opened.store.place,
                fix="Point CLOSEDCUP_DATABASE at another file, for example "
                "sqlite:///demonstration.sqlite.",
            )
        with Display(quiet=quiet) as display:
            demo = Demo(opened, clock, display)
            demo.establish()
            for row in scenario.scenario()["samples"]:
                demo.take_through(row)
            answer = demo.hand_over(address, _report_folder(address))
        display.close(answer)
    return answer


def _report_folder(address: str) -> Path:
    scheme, _, file = address.partition(":///")
    return Path(file).resolve().parent / "reports" if scheme.startswith("sqlite") else Path.cwd()


class Demo:
    """The steps of the demo on one opened laboratory."""

    def __init__(self, opened: OpenLaboratory, clock: SteppedClock, display: Display) -> None:
        self.opened, self.clock, self.display = opened, clock, display

    def once(self, key: str, act: Callable[[str], object], *, by: str = "at") -> None:
        """Make an entry unless its key is on record already."""
        self.opened.by = by
        if self.opened.store.settle(key) is None:
            act(key)

    def establish(self) -> None:
        """Set the laboratory up: people, apparatus in service, verified reference materials."""
        opened, begins = self.opened, scenario.day_begins_at()
        self.clock.now = begins.replace(month=1, day=9)
        self.once(
            "demo/site",
            lambda key: establishing.establish(opened, scenario.site(), key=key),
            by="cp",
        )
        for person, name in scenario.people():
            self._register(person, name)
        for apparatus, probe in scenario.apparatus():
            self._put_into_service(apparatus, probe)
        for material in scenario.materials():
            self._receive(material)
        for number, row in enumerate(scenario.scenario()["verifications"]):
            self._verify(number, row)
        self.clock.now = begins
        for apparatus, _ in scenario.apparatus():
            self._start_day(apparatus.id)
        self.display.say(
            f"{scenario.site().name}: 2 apparatus in service and verified, "
            f"{scenario.site().altitude_m:.0f} m above the sea, {scenario.pressure()} today"
        )

    def _register(self, person: Person, name: str) -> None:
        self.once(
            f"demo/person/{person.id}",
            lambda key: establishing.register_person(self.opened, person, name, key=key),
            by="cp",
        )

    def _receive(self, material: ReferenceMaterial) -> None:
        self.once(
            f"demo/material/{material.id}",
            lambda key: establishing.receive_reference_material(self.opened, material, key=key),
            by="cp",
        )

    def _record(self, sample: str, number: int, evidence: Evidence) -> None:
        self.once(
            f"demo/evidence/{sample}/{number}",
            lambda key: samples.record_evidence(self.opened, sample, evidence, key=key),
        )

    def _put_into_service(self, apparatus: Apparatus, probe: ProbeCheck) -> None:
        opened = self.opened
        self.once(
            f"demo/apparatus/{apparatus.id}",
            lambda key: establishing.register_apparatus(opened, apparatus, key=key),
            by="cp",
        )
        self.once(
            f"demo/service/{apparatus.id}",
            lambda key: establishing.put_into_service(
                opened, apparatus.id, scenario.service_answers(), key=key
            ),
            by="cp",
        )
        self.once(
            f"demo/probe/{apparatus.id}",
            lambda key: establishing.record_probe_check(opened, probe, key=key),
            by="cp",
        )

    def _start_day(self, apparatus: str) -> None:
        self.once(
            f"demo/day/{apparatus}",
            lambda key: days.start_day(
                self.opened,
                apparatus,
                scenario.pressure(),
                scenario.day_answers(),
                key=key,
            ),
        )

    def _verify(self, number: int, row: scenario.Row) -> None:
        self.clock.now = datetime.fromisoformat(row["on"])
        self.once(
            f"demo/verification/{number}",
            lambda key: verifying.verify_apparatus(
                self.opened,
                row["apparatus"],
                row["material"],
                tuple(parse_temperature(f"{text} degC") for text in row["results"]),
                made_under=scenario.made_under(row),
                key=key,
            ),
        )

    def take_through(self, row: scenario.Row) -> None:
        """Take one sample as far as the scenario says."""
        sample, test = scenario.sample(row), scenario.requested_test(row)
        self.clock.now = max(scenario.day_begins_at(), datetime.fromisoformat(row["received_at"]))
        self.clock.now += timedelta(minutes=3 * int(sample.id[-2:]))
        opened = self.opened
        self.once(
            f"demo/sample/{sample.id}",
            lambda key: samples.receive_sample(opened, sample, key=key),
        )
        desk.store(self, row)
        for number, evidence in enumerate(scenario.evidence(row)):
            self._record(sample.id, number, evidence)
        self.once(f"demo/test/{test.id}", lambda key: samples.request_test(opened, test, key=key))
        self.display.say(f"{sample.id}  {sample.description}: {overview.asked_words(test)}")
        self.once(
            f"demo/plan/{test.id}",
            lambda key: planning.make_plan(
                opened, test.id, row["apparatus"], scenario.pressure(), key=key
            ),
        )
        self._tell_plan(test.id)
        if row["stops_at"] in {"bench", "reported"}:
            self._review(test.id)
            self._determine(row, test.id)
        if row["stops_at"] == "reported":
            self._report(test.id)

    def _tell_plan(self, test_id: str) -> None:
        plan = overview.test_overview(self.opened, test_id)["plan"]
        estimate = plan["estimate"]
        expected = (
            "no estimate"
            if estimate is None
            else f"estimate {estimate['flash_point_c']:.1f} °C "
            f"({estimate['low_c']:.1f} to {estimate['high_c']:.1f})"
        )
        self.display.say(
            f"        plan: {expected}; start with the cup at {plan['starting_cup_c']:.1f} °C; "
            f"stop list: {plan['decision']}"
        )

    def _review(self, test_id: str) -> None:
        plan = self.opened.state.plans[test_id]
        if plan.decision != "named reviewer":
            return
        self.once(
            f"demo/review/{test_id}",
            lambda key: planning.review_hazards(
                self.opened,
                test_id,
                "bw",
                proceed=True,
                conditions="2 mL specimens, screen down, extraction on",
                key=key,
            ),
            by="bw",
        )

    def _determine(self, row: scenario.Row, test_id: str) -> None:
        """Follow the bench's instructions with the invented liquid until the test ends."""
        desk.take_to_the_bench(self, row)
        self.once(
            f"demo/series/{test_id}",
            lambda key: beginning.begin_series(
                self.opened,
                test_id,
                row["apparatus"],
                scenario.pressure(),
                pressure_kind="station",
                key=key,
            ),
        )
        series_id = f"{test_id}-1"
        view = benching.bench(self.opened, series_id)
        if view.series.moves:
            self.clock.now = datetime.fromisoformat(view.series.moves[-1].observed_at)
        while view.instruction.action not in {"done", "stopped"}:
            if row["stops_at"] == "bench" and len(view.series.moves) >= _ENTRIES_LEFT_AT_THE_BENCH:
                self.display.say(f"        left at the bench: {view.instruction.why}")
                return
            view = self._step(view, row["true_corrected_c"])
        if view.outcome is not None:
            self.display.say(f"        {view.outcome.text}")

    def _step(self, view: benching.BenchView, true_corrected_c: float) -> benching.BenchView:
        series, step = view.series.id, view.instruction
        key = f"demo/move/{series}/{len(view.series.moves)}"
        cup_c = Decimal(f"{step.cup_c:.1f}")
        match step.action:
            case "set cup":
                self.clock.now += timedelta(minutes=1)
                return benching.set_cup(self.opened, series, cup_c, key=key)
            case "load specimen":
                self.clock.now += timedelta(minutes=4)
                return benching.load_specimen(self.opened, series, cup_c, key=key)
            case "await recovery":
                self.clock.now += timedelta(seconds=40)
                return benching.note_recovery(self.opened, series, cup_c, key=key)
            case "start ramp":
                self.clock.now += timedelta(seconds=30)
                return benching.start_ramp(self.opened, series, cup_c, automatic=False, key=key)
            case _:
                self.clock.now += timedelta(seconds=step.dwell_s or 30)
                flashes = view.state.corrected(float(cup_c)) >= true_corrected_c
                seen = Observation.FLASH if flashes else Observation.NO_FLASH
                self.display.say(f"        cup {cup_c} °C: {seen}")
                return benching.apply_igniter(
                    self.opened, series, cup_c, seen, detector=flashes, key=key
                )

    def _report(self, test_id: str) -> None:
        opened = self.opened
        self.clock.now += timedelta(minutes=2)
        self.opened.by = "at"
        issued = opened.state.result_of(test_id)
        if issued is None:
            issued = results.issue_result(opened, test_id, key=f"demo/{test_id}")
        self.display.say(f"        {issued.statement}")
        self.once(
            f"demo/release/{issued.id}",
            lambda key: results.release_result(opened, issued.id, key=key),
            by="bw",
        )
        self.once(
            f"demo/report/{issued.id}",
            lambda key: reporting.issue_report(opened, issued.id, key=key),
            by="bw",
        )

    def hand_over(self, address: str, folder: Path) -> dict[str, Any]:
        """Write the reports out and say where they are."""
        ledger = self.opened.state
        written = {
            report.result: reporting.write_report(self.opened, report.number, folder)
            for report in ledger.reports.values()
        }
        main = ledger.result_of(f"{MAIN_SAMPLE}-T1")
        if main is None:  # pragma: no cover - the scenario reports its main sample
            raise Refused("demo-unfinished", "The demo's main sample has no result.")
        return {
            "database": self.opened.store.place,
            "address": address,
            "report": written[main.id]["document"],
            "record": written[main.id]["record"],
            "results": [
                {
                    "sample": ledger.tests[result.test].sample,
                    "method": method(ledger.tests[result.test].method).designation,
                    "statement": result.statement,
                    "reported_c": result.reported_c,
                    "report": written.get(result.id, {}).get("document"),
                    "classifications": {
                        answer["regime"]: answer["classification"]
                        for answer in ledger.classified[result.id].answers
                    },
                }
                for result in ledger.results.values()
            ],
            "events": self.opened.store.head().seq,
            "seal": self.opened.store.head().seal,
        }
