"""Take a sample in; the form keeps everything until it is recorded."""

from decimal import Decimal

from starlette.responses import Response

from closedcup.app.usecases.desk import samples as desk
from closedcup.app.usecases.desk.retention import as_due
from closedcup.app.web.custody import whole_days
from closedcup.app.web.forms import Form
from closedcup.app.web.rendering import Visit, page, see, status_of
from closedcup.errors import ClosedcupError, InputError
from closedcup.laboratory import Component, PastResult, Sample
from closedcup.methods import PRODUCTS
from closedcup.quantities import parse_amount, parse_temperature


def show(visit: Visit) -> Response:
    """Show the form that takes a sample in."""
    return _receiving(visit, visit.form)


def _receiving(visit: Visit, form: Form, status: int = 200) -> Response:
    return page(visit, "receive.html", status=status, form=form, kinds=_kinds())


def _kinds() -> list[tuple[str, str]]:
    return [("", "not stated"), *((name, f"{name}: {words}") for name, words in PRODUCTS.items())]


def receive(visit: Visit) -> Response:
    """Take a sample in; the form keeps everything until it is recorded."""
    form, opened = visit.form, visit.opened
    earlier = opened.store.settle(form.key)
    if earlier is not None:
        return see(f"/samples/{earlier.subject}")
    try:
        sample = _typed_sample(visit)
        if sample is None:
            return _receiving(visit, form, 400)
        desk.receive_sample(opened, sample, key=form.key)
    except ClosedcupError as error:
        _place(
            form,
            error,
            {"composition": "composition", "component": "composition", "keep-back": "kept_back_ml"},
        )
        return _receiving(visit, form, status_of(error))
    return see(f"/samples/{sample.id}")


def _typed_sample(visit: Visit) -> Sample | None:
    """Read the form; None when a field must be mended."""
    form, opened = visit.form, visit.opened
    description = form.text("description", required="Say what the sample is said to be.")
    customer = form.text("customer", required="Say for whom the work is done.")
    contact = form.text(
        "customer_contact", required="The report must name how to reach the customer."
    )
    volume_ml = form.number("volume_ml", required="Enter how much there is, in mL.")
    components = form.parsed("composition", _components) or ()
    trust = form.text("trust") or "unknown"
    if components and trust == "unknown":
        form.errors["trust"] = InputError(
            "trust-missing",
            "A composition was entered, but not where it comes from.",
            fix="Say whether it was declared or measured.",
        )
    history = form.parsed("history", _past_results) or ()
    fill_percent, arrived_c = form.number("fill_percent"), form.number("arrived_c")
    today = opened.clock().date()
    due = form.parsed("due", lambda text: as_due(text, today)) or ""
    keep_days = form.parsed("keep_days", whole_days)
    kept_back_ml = form.number("kept_back_ml")
    if form.checked("in_doubt"):
        form.text("condition", required="Say what is wrong: the customer is asked about it.")
    if form.is_faulty or volume_ml is None:
        return None
    return Sample(
        id=desk.next_sample_id(opened),
        description=description,
        customer=customer,
        customer_contact=contact,
        received_at=opened.clock().isoformat(),
        condition=form.text("condition"),
        container=form.text("container"),
        volume_ml=volume_ml,
        composition=desk.composition(trust, form.text("basis") or "mass", components),
        kind=form.text("kind"),
        product=form.text("product"),
        fill_percent=fill_percent,
        arrived_c=arrived_c,
        sampled_at=form.text("sampled_at"),
        sampling=form.text("sampling"),
        is_waste=form.checked("is_waste"),
        suspected=_lines(form.text("suspected")),
        hazards=_lines(form.text("hazards")),
        history=history,
        in_doubt=form.checked("in_doubt"),
        priority=form.text("priority"),
        due=due,
        keep_days=keep_days,
        kept_back_ml=kept_back_ml,
    )


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


def _components(text: str) -> tuple[Component, ...]:
    amounts = [parse_amount(line) for line in _lines(text)]
    return tuple(Component(amount.name, amount.fraction) for amount in amounts)


def _past_results(text: str) -> tuple[PastResult, ...]:
    """Read “61 C = last delivery” lines."""
    split = [line.partition("=") for line in _lines(text)]
    return tuple(
        PastResult(Decimal(repr(parse_temperature(degrees, where="history").c)), what.strip())
        for degrees, _, what in split
    )


def _place(form: Form, error: ClosedcupError, fields: dict[str, str]) -> None:
    """Put an error beside its field when it names one, else on top of the form."""
    field = next((name for word, name in fields.items() if error.where.startswith(word)), None)
    if field is None:
        form.refused = error
    else:
        form.errors[field] = error
