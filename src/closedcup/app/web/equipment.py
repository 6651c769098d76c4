"""Apparatus and reference materials: register, look at, check the probe, verify."""

from starlette.responses import Response

from closedcup.app.usecases.apparatus import (
    establishing,
    reference_materials,
    verification_due,
    verifying,
)
from closedcup.app.usecases.desk import overview
from closedcup.app.usecases.lookup import find
from closedcup.app.web.apparatus_page import SYMBOLS, show
from closedcup.app.web.forms import Form, parse_number
from closedcup.app.web.recording import parse_day, recorded, refuse_faulty
from closedcup.app.web.rendering import Visit, page
from closedcup.errors import InputError
from closedcup.laboratory import (
    Apparatus,
    ProbeCheck,
    ReferenceMaterial,
    VerificationConditions,
)
from closedcup.methods import methods
from closedcup.quantities import Temperature, parse_pressure, parse_temperature


def show_all(visit: Visit, *, faulty: str = "", status: int = 200) -> Response:
    """List the apparatus, for each method that they run, and the reference materials."""
    return page(
        visit,
        "apparatus.html",
        status=status,
        rows=overview.apparatus_states(visit.opened),
        symbols=SYMBOLS,
        materials=reference_materials.in_stock(visit.opened),
        methods_offered=[
            (each.id, f"{each.name} ({each.id})") for each in methods() if each.guided
        ],
        faulty=faulty,
        form_named=lambda name: visit.form if name == faulty else Form(),
    )


def register(visit: Visit) -> Response:
    """Register an apparatus."""
    form = visit.form

    def record() -> None:
        identifier = form.text("id", required="Give it a short id, as on its label: SC-1.")
        if not identifier.replace("-", "").replace("_", "").isalnum():
            form.errors.setdefault(
                "id",
                InputError(
                    "id-unusable",
                    "An id has letters, digits and hyphens.",
                    fix="Write it like SC-1.",
                ),
            )
        description = form.text("description", required="Say what it is.")
        run = tuple(each.id for each in methods() if form.checked(f"runs-{each.id}"))
        if not run:
            form.errors["runs"] = InputError(
                "field-empty", "It runs no method yet.", fix="Tick at least one."
            )
        lowest_c = form.number("lowest_cup_c", required="Enter the lowest that it reaches.")
        highest_c = form.number("highest_cup_c", required="Enter the highest that it reaches.")
        igniter = form.text("igniter", required="Gas or electric?")
        refuse_faulty(form)
        if lowest_c is None or highest_c is None:
            return
        apparatus = Apparatus(
            id=identifier,
            description=description,
            serial=form.text("serial"),
            location=form.text("location"),
            methods=run,
            lowest_cup_c=lowest_c,
            highest_cup_c=highest_c,
            igniter=igniter,
            has_detector=form.checked("has_detector"),
            firmware=form.text("firmware"),
        )
        establishing.register_apparatus(visit.opened, apparatus, key=form.key)

    return recorded(
        visit,
        record,
        lambda status: show_all(visit, faulty="register", status=status),
        f"/apparatus/{form.text('id')}",
    )


def receive_material(visit: Visit) -> Response:
    """Take a reference material into stock."""
    form = visit.form

    def record() -> None:
        identifier = form.text("id", required="Give it a short id: RM-1.")
        liquid = form.text("liquid", required="Say which liquid it is.")
        lot = form.text("lot", required="Enter the lot, as on the bottle.")
        value_c = form.number("value_c", required="Enter the certificate's value.")
        certificate = form.text("certificate", required="Enter the certificate's number.")
        expires_on = form.parsed("expires_on", parse_day) or ""
        uncertainty_c = form.number("expanded_uncertainty_c")
        use_within = form.parsed("use_within_days", _whole_number)
        refuse_faulty(form)
        if value_c is None:
            return
        material = ReferenceMaterial(
            identifier,
            liquid,
            lot,
            form.text("method"),
            value_c,
            certificate,
            expires_on,
            uncertainty_c,
            edition=form.text("edition"),
            use_within_days=use_within,
        )
        establishing.receive_reference_material(visit.opened, material, key=form.key)

    return recorded(
        visit,
        record,
        lambda status: show_all(visit, faulty="material", status=status),
        "/apparatus#materials",
    )


def open_material(visit: Visit) -> Response:
    """Record that a bottle of a reference material was opened."""
    form = visit.form

    def record() -> None:
        opened_on = form.parsed("opened_on", parse_day)
        refuse_faulty(form)
        reference_materials.open_bottle(
            visit.opened, visit.path("material"), opened_on, key=form.key
        )

    return recorded(
        visit,
        record,
        lambda status: show_all(visit, faulty=f"open-{visit.path('material')}", status=status),
        "/apparatus#materials",
    )


def decide_interval(visit: Visit) -> Response:
    """Decide how often this apparatus, or every apparatus, is verified."""
    form, identifier = visit.form, visit.path("apparatus")

    def record() -> None:
        days = form.parsed("days", _whole_number, required="Whole days; 0 for no interval.")
        reason = form.text("interval_reason", required="Say why this interval.")
        everywhere = form.text("interval_of") == "every"
        refuse_faulty(form)
        verification_due.decide_interval(
            visit.opened,
            days or None,
            reason,
            apparatus_id="" if everywhere else identifier,
            key=form.key,
        )

    return recorded(
        visit,
        record,
        lambda status: show(visit, faulty="interval", status=status),
        f"/apparatus/{identifier}#states",
    )


def check_probe(visit: Visit) -> Response:
    """Record the probe's correction."""
    form, identifier = visit.form, visit.path("apparatus")

    def record() -> None:
        find(visit.opened.state.apparatus, identifier, "apparatus")
        correction_c = form.number(
            "correction_c", required="Enter what is added to a reading; 0 when it reads true."
        )
        certificate = form.text("certificate", required="Say what it was compared with.")
        checked_on = form.parsed("checked_on", parse_day, required="Enter the date: 2026-03-02.")
        refuse_faulty(form)
        check = ProbeCheck(identifier, correction_c, certificate, checked_on or "")
        establishing.record_probe_check(visit.opened, check, key=form.key)

    return recorded(
        visit,
        record,
        lambda status: show(visit, faulty="probe", status=status),
        f"/apparatus/{identifier}#probe",
    )


def verify(visit: Visit) -> Response:
    """Compare repeats on a reference material with its value."""
    form, identifier = visit.form, visit.path("apparatus")

    def record() -> None:
        material = form.text("material", required="Say which reference material was tested.")
        results = form.parsed(
            "results", _repeats, required="Enter each result, corrected to 101.3 kPa."
        )
        made_under = _made_under(form)
        refuse_faulty(form)
        verifying.verify_apparatus(
            visit.opened,
            identifier,
            material,
            results or (),
            made_under=made_under,
            key=form.key,
        )

    return recorded(
        visit,
        record,
        lambda status: show(visit, faulty="verification", status=status),
        f"/apparatus/{identifier}#verification",
    )


def _made_under(form: Form) -> VerificationConditions:
    return VerificationConditions(
        pressure=form.parsed("pressure", parse_pressure),
        correction_applied_c=form.number("correction_applied_c"),
        heating_rate_c_per_min=form.number("heating_rate_c_per_min"),
        lid=form.text("lid"),
        igniter=form.text("igniter"),
        operator=form.text("operator"),
        order_in_day=form.parsed("order_in_day", _whole_number),
    )


def _whole_number(text: str) -> int:
    number = parse_number(text)
    if number != int(number):
        raise InputError("not-whole", f"“{text}” is not a whole number.", fix="Count: 1, 2, 3.")
    return int(number)


def _repeats(text: str) -> tuple[Temperature, ...]:
    """Read numbers in °C with spaces, semicolons or new lines between them."""
    return tuple(
        parse_temperature(f"{parse_number(number)} degC", where="results")
        for number in text.replace(";", " ").split()
    )
