"""The trace of a ramp beside its series: choose the file, see how it is read, mend it, compare."""

from pathlib import Path
from typing import Any, Final

from starlette.responses import Response

from closedcup.app.usecases.bench.benching import bench
from closedcup.app.usecases.results.keeping_files import kept_content, kept_files
from closedcup.app.usecases.traces import traces
from closedcup.app.usecases.traces.trace_corrections import Scale, scale_in
from closedcup.app.usecases.traces.trace_findings import trace_picture
from closedcup.app.web.forms import Form
from closedcup.app.web.held_files import HeldFiles
from closedcup.app.web.rendering import Visit, page, see, status_of
from closedcup.errors import ClosedcupError, InputError
from closedcup.metrology.traces import Lag
from closedcup.quantities import parse_pressure

Answer = dict[str, Any]

_HELD: Final = HeldFiles()

_COLUMNS: Final = ("time", "temperature", "detector")
_UNITS: Final = ("time_unit", "temperature_unit", "decimal")
_NO_DETECTOR: Final = "no detector"


def show(visit: Visit) -> Response:
    """Show the traces kept beside the series' result, and the form that takes another."""
    digest = visit.query("file")
    if not digest:
        return _answer(visit, visit.form)
    view = bench(visit.opened, visit.path("series"))
    result = visit.opened.state.result_of(view.test.id)
    if result is None or result.series != view.series.id:
        raise InputError("file-unknown", "No file is kept beside this series.", where="trace")
    name, content = kept_content(visit.opened, result.id, digest)
    said = next(
        each["what"] for each in kept_files(visit.opened, result.id) if each["sha256"] == digest
    )
    answer, trace = traces.analyse_trace(
        visit.opened,
        traces.TraceFile(name, content),
        view.apparatus.id,
        dict.fromkeys((*_COLUMNS, *_UNITS)),
        result_id=result.id,
        scale=scale_in(said) or Scale(as_shown=True),
        record=False,
    )
    return _answer(visit, visit.form, found=answer, picture=trace_picture(answer, trace))


def act(visit: Visit) -> Response:
    """Take a file in, show how it is read, or analyse it; a refusal keeps everything typed."""
    form, held = visit.form, ""
    try:
        held, file = _file(form)
        form.typed["held"] = held
        return _read(visit, held, file)
    except ClosedcupError as error:
        if not form.errors:
            form.refused = error
        status = status_of(error, visit.request.path_params)
        return _answer(visit, form, held=held, shown=_preview(visit, held), status=status)


def _file(form: Form) -> tuple[str, traces.TraceFile]:
    """Return the file that was sent now, or the one chosen before, with its name of our own."""
    held, path = _HELD.chosen(form, "the apparatus's CSV")
    if form.upload is not None:
        form.typed = {name: text for name, text in form.typed.items() if name not in _COLUMNS}
    return held, _trace_file(path)


def _trace_file(path: Path) -> traces.TraceFile:
    return traces.TraceFile(path.name, path.read_bytes())


def _read(visit: Visit, held: str, file: traces.TraceFile) -> Response:
    form, opened = visit.form, visit.opened
    view = bench(opened, visit.path("series"))
    if form.text("press") != "analyse" or form.upload is not None:
        return _answer(visit, form, held=held, shown=_preview(visit, held))
    named, lag, scale = _named(form), _lag(form), _scale(form)
    if form.errors:
        raise next(iter(form.errors.values()))
    result = opened.state.result_of(view.test.id)
    of_this = result is not None and result.series == view.series.id
    answer, trace = traces.analyse_trace(
        opened,
        file,
        view.apparatus.id,
        named,
        result_id=result.id if result is not None and of_this else None,
        series_id=view.series.id,
        scale=scale,
        lag=lag,
        key=form.key,
    )
    if answer["kept"] is not None:
        _HELD.let_go(held)
        return see(f"/bench/{view.series.id}/trace?file={answer['kept']['sha256']}")
    picture = trace_picture(answer, trace)
    shown = _preview(visit, held)
    return _answer(visit, form, held=held, shown=shown, found=answer, picture=picture)


def _named(form: Form) -> traces.Named:
    """Return the columns and units as chosen; None where nothing was, "" for no detector."""
    named: traces.Named = {name: form.text(name) or None for name in (*_COLUMNS, *_UNITS)}
    if named["detector"] == _NO_DETECTOR:
        named["detector"] = ""
    return named


def _lag(form: Form) -> Lag | None:
    late, half = form.number("lag"), form.number("lag_half_width")
    if late is None and half is not None:
        form.errors.setdefault(
            "lag", InputError("lag-missing", "A half width without a delay.", fix="Give both.")
        )
    return None if late is None else Lag(float(late), float(half or 0))


def _scale(form: Form) -> Scale:
    said = form.text("scale", required="Say which; the export's settings tell.")
    if said != "corrected":
        return Scale(as_shown=said == "as shown")
    return Scale(
        form.parsed("corrected_for", parse_pressure, required="With which pressure: “84.6 kPa”.")
    )


def _preview(visit: Visit, held: str) -> Answer | None:
    """Return how the file at hand would be read; None where it is no table."""
    path = _HELD.path(held)
    if path is None:
        return None
    view = bench(visit.opened, visit.path("series"))
    try:
        return traces.preview(
            visit.opened, _trace_file(path), view.apparatus.id, _named(visit.form)
        )
    except ClosedcupError as error:
        if not visit.form.errors:
            visit.form.refused = error
        return None


def _answer(
    visit: Visit,
    form: Form,
    *,
    held: str = "",
    shown: Answer | None = None,
    found: Answer | None = None,
    picture: str = "",
    status: int = 200,
) -> Response:
    view = bench(visit.opened, visit.path("series"))
    result = visit.opened.state.result_of(view.test.id)
    kept = [] if result is None else kept_files(visit.opened, result.id)
    return page(
        visit,
        "trace.html",
        status=status,
        form=form,
        view=view,
        result=result,
        held=held,
        shown=shown,
        found=found,
        picture=picture,
        kept=[each for each in kept if scale_in(each["what"]) is not None],
        no_detector=_NO_DETECTOR,
    )
