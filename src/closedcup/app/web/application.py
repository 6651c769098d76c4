"""The web application of one laboratory: its routes, and how each is answered."""

import logging
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from importlib.resources import files
from typing import Final

from starlette.applications import Starlette
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from closedcup.app.opening import OpenLaboratory
from closedcup.app.web import (
    accounts,
    api,
    api_blends,
    apparatus_page,
    bench,
    blends_page,
    catalogue,
    chart_page,
    checklists,
    classification_page,
    confirming,
    cup_rates,
    custody,
    day_page,
    diagnosis_page,
    equipment,
    estimate_page,
    failures_page,
    formulate_page,
    holds_page,
    kept_files,
    lists_page,
    nonconforming_api,
    nonconforming_result,
    person,
    proficiency,
    qualifications,
    receiving,
    reports_page,
    requested_tests,
    results,
    reviewing,
    sample_list,
    samples,
    screening,
    setting_up,
    signing,
    signing_in,
    status,
    trace_page,
    transcribing,
    uncertainty_page,
)
from closedcup.app.web.forms import Form
from closedcup.app.web.rendering import Visit, page, status_of
from closedcup.app.web.security import THIS_PC, Guard, Place, is_upload
from closedcup.app.web.sessions import recognise
from closedcup.app.web.worker import Worker
from closedcup.errors import ClosedcupError, Damaged, InputError

_log = logging.getLogger(__name__)
_FAULT: Final = Damaged(
    "program-fault",
    "A fault in the program stopped this.",
    fix="What was recorded before is kept. Look where things stand before trying again; the "
    "details are in the window where the program runs.",
)
Handler = Callable[[Visit], Response]

_PAGES: Final[tuple[tuple[str, str, Handler], ...]] = (
    ("GET", "/", sample_list.show),
    ("GET", "/search", sample_list.search),
    ("POST", "/filters", sample_list.save_filter),
    ("GET", "/disposals", sample_list.disposals),
    ("GET", "/labels", custody.sheet),
    ("GET", "/samples/new", receiving.show),
    ("POST", "/samples/new", receiving.receive),
    ("GET", "/samples/{sample}", samples.show),
    ("POST", "/samples/{sample}/tests", requested_tests.request),
    ("POST", "/samples/{sample}/evidence", samples.record_property),
    ("POST", "/samples/{sample}/keeping/{act}", custody.act),
    ("GET", "/samples/{sample}/label.{form}", custody.label),
    ("POST", "/tests/{test}/plan", requested_tests.make_plan),
    ("POST", "/tests/{test}/review", requested_tests.review),
    ("POST", "/tests/{test}/series", requested_tests.begin),
    ("POST", "/tests/{test}/result", results.issue),
    ("POST", "/tests/{test}/release", results.release),
    ("POST", "/tests/{test}/classification", results.classify),
    ("POST", "/tests/{test}/report", results.report),
    ("GET", "/reports/{report}/document", results.document),
    ("GET", "/reports/{report}/record", results.record),
    ("POST", "/results/{result}/files", kept_files.keep),
    ("POST", "/results/{result}/let-stand", reviewing.let_stand),
    ("GET", "/results/{result}/nonconforming", nonconforming_result.show),
    ("POST", "/results/{result}/supersede", nonconforming_result.supersede),
    ("POST", "/results/{result}/dispute", nonconforming_result.dispute),
    ("POST", "/disputes/{dispute}/settle", nonconforming_result.settle),
    ("GET", "/reports", reports_page.show),
    ("POST", "/reports/{report}/amend", reports_page.amend),
    ("GET", "/holds", holds_page.show),
    ("POST", "/holds", holds_page.place),
    ("POST", "/holds/{hold}/lift", holds_page.lift),
    ("GET", "/failures", failures_page.show),
    ("POST", "/failures", failures_page.note),
    ("POST", "/failures/{failure}/action", failures_page.correct),
    ("POST", "/failures/{failure}/review", failures_page.review),
    ("POST", "/status/backups", status.decide_backups),
    ("GET", "/results/{result}/uncertainty", uncertainty_page.show),
    ("POST", "/results/{result}/uncertainty", uncertainty_page.state),
    ("GET", "/results/{result}/files/{file}", kept_files.send),
    ("GET", "/tests/{test}/bench-sheet", transcribing.sheet),
    ("GET", "/bench-sheet", transcribing.blank_sheet),
    ("GET", "/day", day_page.show),
    ("POST", "/samples/{sample}/chilling", day_page.chill),
    ("GET", "/bench/{series}", bench.show),
    ("POST", "/bench/{series}", bench.act),
    ("GET", "/bench/{series}/screening", screening.show),
    ("GET", "/bench/{series}/trace", trace_page.show),
    ("POST", "/bench/{series}/trace", trace_page.act),
    ("GET", "/apparatus", equipment.show_all),
    ("POST", "/apparatus", equipment.register),
    ("GET", "/apparatus/{apparatus}", apparatus_page.show),
    ("GET", "/apparatus/{apparatus}/diagnosis", diagnosis_page.show),
    ("GET", "/apparatus/{apparatus}/chart", chart_page.show),
    ("POST", "/apparatus/{apparatus}/chart/cause", chart_page.assign_cause),
    ("POST", "/apparatus/{apparatus}/chart/limits", chart_page.decide_limits),
    ("POST", "/apparatus/{apparatus}/service", checklists.put_into_service),
    ("POST", "/apparatus/{apparatus}/service/{item}", checklists.answer_again),
    ("POST", "/apparatus/{apparatus}/day", checklists.start_day),
    ("POST", "/apparatus/{apparatus}/close-down", checklists.close_down),
    ("POST", "/apparatus/{apparatus}/probe", equipment.check_probe),
    ("POST", "/apparatus/{apparatus}/rates", cup_rates.note),
    ("POST", "/apparatus/{apparatus}/verification", equipment.verify),
    ("POST", "/apparatus/{apparatus}/interval", equipment.decide_interval),
    ("POST", "/materials", equipment.receive_material),
    ("POST", "/materials/{material}/opened", equipment.open_material),
    ("GET", "/proficiency", proficiency.show),
    ("POST", "/proficiency", proficiency.record),
    ("GET", "/classification", classification_page.show),
    ("GET", "/estimate", estimate_page.show),
    ("GET", "/blends", blends_page.show),
    ("GET", "/formulate", formulate_page.show),
    ("GET", "/methods", catalogue.show_all),
    ("GET", "/methods/{method}", catalogue.show),
    ("GET", "/methods/{method}/confirm", confirming.show),
    ("POST", "/methods/{method}/confirm", confirming.confirm),
    ("GET", "/establish", setting_up.show),
    ("POST", "/establish", setting_up.establish),
    ("POST", "/people", person.register),
    ("GET", "/lists", lists_page.show),
    ("POST", "/lists", lists_page.act),
    ("GET", "/status", status.show),
    ("GET", "/people", person.show),
    ("GET", "/person", person.show_here),
    ("POST", "/person", person.choose),
    ("POST", "/person/password", accounts.change_own_password),
    ("GET", "/accounts", accounts.show_all),
    ("POST", "/accounts", accounts.make_first),
    ("POST", "/accounts/{person}", accounts.change),
    ("GET", "/qualifications", qualifications.show),
    ("POST", "/qualifications", qualifications.grant),
    ("POST", "/qualifications/{qualification}/withdraw", qualifications.withdraw),
    ("POST", "/working-rules", qualifications.decide),
    ("GET", "/results/{result}/sign", signing.show),
    ("POST", "/results/{result}/sign", signing.sign),
    ("GET", "/sign-in", signing_in.show),
    ("POST", "/sign-in", signing_in.sign_in),
    ("POST", "/sign-out", signing_in.sign_out),
)


_ANSWERS: Final = (*api.ANSWERS, *api_blends.ANSWERS, *nonconforming_api.ANSWERS)
_FOR_EVERYBODY: Final = frozenset({signing_in.show, signing_in.sign_in, signing_in.sign_out})
"""What needs no right: to sign in and out."""


def create_app(open_records: Callable[[], OpenLaboratory], place: Place = THIS_PC) -> Starlette:
    """Return the application; `open_records` is called once, at the first request."""
    worker = Worker(open_records)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        yield
        worker.close()

    application = Starlette(
        routes=[
            *(
                Route(address, _page_endpoint(worker, handler), methods=[method])
                for method, address, handler in _PAGES
            ),
            *(
                Route(f"/api{address}", _api_endpoint(worker, answer), methods=["GET"])
                for address, answer in _ANSWERS
            ),
            Mount("/static", StaticFiles(directory=str(files("closedcup.app.web") / "static"))),
        ],
        middleware=[Middleware(Guard, place=place)],
        exception_handlers={HTTPException: _not_there_handler(worker)},
        lifespan=lifespan,
    )
    application.state.worker = worker
    return application


def _page_endpoint(worker: Worker, handler: Handler) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(request: Request) -> Response:
        form = await _form(request)

        def answer(opened: OpenLaboratory) -> Response:
            recognise(request, opened, worker.by)
            visit = Visit(request, opened, form)
            try:
                if handler not in _FOR_EVERYBODY:
                    opened.permit("records-read")
                return handler(visit)
            except ClosedcupError as error:
                if error.kind == "sign-in-needed":
                    return signing_in.ask(visit)
                return _refusal(visit, error)
            except Exception:  # noqa: BLE001 - a fault is told in words, not as a trace
                _log.exception("%s %s", request.method, request.url.path)
                return page(visit, "refusal.html", status=500, error=_FAULT)

        return await worker.run(answer)

    return endpoint


async def _form(request: Request) -> Form:
    if request.method != "POST":
        return Form()
    max_files = 1 if is_upload(request.url.path) else 0
    async with request.form(max_files=max_files, max_fields=300) as sent:
        form = Form.of({name: text for name, text in sent.items() if isinstance(text, str)})
        file = sent.get("file")
        if isinstance(file, UploadFile) and file.filename:
            form.upload = (file.filename, await file.read())
        return form


def _refusal(visit: Visit, error: ClosedcupError) -> Response:
    status_code = status_of(error, visit.request.path_params)
    return page(visit, "refusal.html", status=status_code, error=error)


def _api_endpoint(
    worker: Worker, answer: api.Answering
) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(request: Request) -> Response:
        def work(opened: OpenLaboratory) -> Response:
            recognise(request, opened, worker.by)
            try:
                opened.permit("records-read")
                return JSONResponse(answer(opened, request))
            except ClosedcupError as error:
                return JSONResponse(error.as_json(), status_of(error, request.path_params))
            except Exception:  # noqa: BLE001 - a fault is told in words, not as a trace
                _log.exception("%s %s", request.method, request.url.path)
                return JSONResponse(_FAULT.as_json(), 500)

        return await worker.run(work)

    return endpoint


def _not_there_handler(
    worker: Worker,
) -> Callable[[Request, Exception], Awaitable[Response]]:
    async def handle(request: Request, error: Exception) -> Response:
        code = error.status_code if isinstance(error, HTTPException) else 500
        said = InputError(
            "page-unknown" if code == 404 else "request-unusable",
            "There is no such page." if code == 404 else "This cannot be done here.",
            where=request.url.path,
            fix="Begin from the list of samples.",
        )
        if request.url.path.startswith("/api/"):
            return JSONResponse(said.as_json(), code)

        def answer(opened: OpenLaboratory) -> Response:
            recognise(request, opened, worker.by)
            return page(Visit(request, opened), "refusal.html", status=code, error=said)

        return await worker.run(answer)

    return handle
