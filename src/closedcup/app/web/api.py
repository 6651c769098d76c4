"""The machine-readable pages: the objects that the commands print with `--json`, by GET only."""

from collections.abc import Callable
from functools import partial
from typing import Any, Final

from starlette.requests import Request

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.apparatus import reference_materials
from closedcup.app.usecases.bench import bench_overview
from closedcup.app.usecases.charts import charting, control_history
from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.desk.evidence import typed_evidence
from closedcup.app.usecases.desk.samples import as_basis, as_trust
from closedcup.app.usecases.diagnosis import diagnosing, reference_history
from closedcup.app.usecases.liquids import estimating
from closedcup.app.usecases.methods import calculating, confirming, explaining_methods
from closedcup.app.usecases.methods.methods_on_record import MethodLookup, method_of
from closedcup.app.usecases.planning import advising, ordering_day
from closedcup.app.usecases.records import records
from closedcup.app.usecases.results import classifying, conforming
from closedcup.app.usecases.uncertainty import proficiency
from closedcup.app.web import desk_api, people_api
from closedcup.app.web.asked import Asked
from closedcup.conformity import parse_specification
from closedcup.quantities import (
    parse_amount,
    parse_difference,
    parse_limit,
    parse_pressure,
    parse_temperature,
)

Answering = Callable[[OpenLaboratory, Request], Any]


def _lookup(opened: OpenLaboratory) -> MethodLookup:
    """Return how methods are found: as this laboratory has confirmed them."""
    return partial(method_of, opened.state)


def _estimate(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(
        request, "c", "basis", "pressure", "method", "activity", "trust", "normalise",
        "amount_uncertainty", "cup_family",
    )  # fmt: skip
    asked.needed("c", "ethanol=0.5")
    return estimating.estimate_answer(
        tuple(parse_amount(text) for text in asked.each("c")),
        basis=as_basis(asked.text("basis") or "mole"),
        pressure=asked.read("pressure", parse_pressure),
        method_id=asked.text("method"),
        activity=asked.text("activity") or "default",
        trust=as_trust(asked.text("trust") or "declared"),
        normalise=asked.yes("normalise"),
        amount_uncertainty=asked.read("amount_uncertainty", estimating.relative_uncertainty) or 0.0,
        cup_family=asked.text("cup_family"),
        lookup=_lookup(opened),
    )


def _correct(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "observed", "pressure", "method", "probe_correction", "step", "limit")
    return calculating.corrected(
        parse_temperature(asked.needed("observed", "40.5 degC"), where="observed"),
        parse_pressure(asked.needed("pressure", "95.2 kPa")),
        method_id=asked.text("method"),
        probe_correction=calculating.typed_correction(asked.text("probe_correction")),
        step=asked.read("step", parse_difference),
        limit=asked.read("limit", parse_limit),
        lookup=_lookup(opened),
    )


def _setpoint(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "limit", "pressure", "method", "probe_correction")
    return calculating.limit_set_point(
        parse_limit(asked.needed("limit", "<60 degC")),
        parse_pressure(asked.needed("pressure", "95.2 kPa")),
        method_id=asked.text("method"),
        probe_correction=calculating.typed_correction(asked.text("probe_correction")),
        lookup=_lookup(opened),
    )


def _precision(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "method", "product", "at", "result", "between_laboratories")
    return calculating.method_precision(
        asked.needed("method", "d3828-b"),
        product=asked.text("product"),
        at=asked.read("at", parse_temperature),
        results=tuple(parse_temperature(text, where="result") for text in asked.each("result")),
        between_laboratories=asked.yes("between_laboratories"),
        lookup=_lookup(opened),
    )


_EVIDENCE: Final = (
    "boils",
    "method",
    "viscosity",
    "flow_time",
    "cup_jet",
    "sustains",
    "fire_point",
    "water",
    "alcohol",
    "product",
    "carried_at",
    "receptacle",
    "mode",
    "used_at",
    "separation",
    "other_hazards",
    "reported",
    "uncertainty",
)


def _classify(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "flash", "calculated", "property", "law_only", "legacy", *_EVIDENCE)
    evidence = typed_evidence(
        flash=asked.needed("flash", "22.5 degC"),
        calculated=asked.yes("calculated"),
        properties=asked.each("property"),
        **{name: asked.text(name) for name in _EVIDENCE},
    )
    return classifying.classifications(
        evidence,
        lookup=_lookup(opened),
        good_practice=not asked.yes("law_only"),
        all_on_file=asked.yes("legacy"),
    )


def _conform(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(
        request,
        "limit",
        "result",
        "uncertainty",
        "method",
        "product",
        "rule",
        "safety",
        "process_mean",
        "process_spread",
    )
    return conforming.conformity(
        parse_specification(asked.needed("limit", ">=60 degC")),
        parse_temperature(asked.needed("result", "61.5 degC"), where="result"),
        uncertainty=asked.read("uncertainty", parse_difference),
        method_id=asked.text("method"),
        product=asked.text("product"),
        rule=asked.text("rule") or "simple",
        safety_limit=asked.yes("safety"),
        process=conforming.stated_process(
            asked.text("process_mean"), asked.read("process_spread", parse_difference)
        ),
        lookup=_lookup(opened),
    )


def _methods(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return explaining_methods.all_methods(_lookup(opened))


def _method(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return explaining_methods.one_method(request.path_params["method"], _lookup(opened))


def _confirmation(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return confirming.confirmation_state(opened, request.path_params["method"])


def _sample(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return overview.sample_overview(opened, request.path_params["sample"])


def _bench(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return bench_overview.bench_overview(opened, request.path_params["series"])


def _apparatus(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return overview.apparatus_states(opened)


def _diagnosis(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "method", "since")
    gathered = reference_history.gathered_on_record(
        opened, request.path_params["apparatus"], asked.text("method"), since=asked.text("since")
    )
    return diagnosing.diagnosed(gathered)


def _next(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "screening")
    screening = asked.text("screening") == "yes"
    return advising.next_temperature(opened, request.path_params["series"], screening=screening)


def _day(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "analyst", "chilled", "room")
    room = asked.text("room")
    return ordering_day.order_of_the_day(
        opened,
        chilled=request.query_params.getlist("chilled"),
        analysts=request.query_params.getlist("analyst"),
        room=None if room is None else parse_temperature(room, where="room"),
    )


def _check_records(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "seal")
    return records.check_records(opened, asked.text("seal"))


def _chart(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "method", "kind", "rules", "base", "weight")
    history = control_history.history_on_record(
        opened, request.path_params["apparatus"], asked.text("method")
    )
    wishes = charting.Wishes(
        kind=asked.text("kind") or "individuals",
        rules=charting.typed_rules(asked.text("rules")),
        base=asked.read("base", charting.typed_base),
        weight=asked.read("weight", charting.typed_weight) or charting.USUAL_WEIGHT,
    )
    return charting.charted(history, wishes)


def _materials(opened: OpenLaboratory, request: Request) -> Any:
    Asked(request)
    return reference_materials.in_stock(opened)


def _proficiency(opened: OpenLaboratory, request: Request) -> Any:
    asked = Asked(request, "person", "method")
    return proficiency.history(opened, person=asked.text("person"), method_id=asked.text("method"))


ANSWERS: Final[tuple[tuple[str, Answering], ...]] = (
    ("/estimate", _estimate),
    ("/correct", _correct),
    ("/setpoint", _setpoint),
    ("/precision", _precision),
    ("/methods", _methods),
    ("/methods/{method}", _method),
    ("/methods/{method}/confirm", _confirmation),
    ("/classify", _classify),
    ("/conform", _conform),
    ("/samples/{sample}", _sample),
    ("/bench/{series}", _bench),
    ("/bench/{series}/next", _next),
    ("/day", _day),
    ("/apparatus", _apparatus),
    ("/apparatus/{apparatus}/diagnosis", _diagnosis),
    ("/apparatus/{apparatus}/chart", _chart),
    ("/materials", _materials),
    ("/proficiency", _proficiency),
    ("/check-records", _check_records),
    *people_api.ANSWERS,
    *desk_api.ANSWERS,
)
