"""Every page of the demo laboratory, found by its links: accessible, within the screen, silent."""

import re
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from presses import BROWSER

from closedcup.app.opening import open_laboratory
from closedcup.app.web.application import _PAGES, create_app
from closedcup.app.web.serving import listen
from closedcup.demo.run import run_demo

AXE = (Path(__file__).parents[2] / "vendor" / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SENT_AS_FILES = frozenset(
    {
        "/labels", "/samples/{sample}/label.{form}", "/reports/{report}/document",
        "/reports/{report}/record", "/results/{result}/files/{file}",
        "/tests/{test}/bench-sheet", "/bench-sheet",
    }
)  # fmt: skip
PAGES = {
    address: re.compile(re.sub(r"\\\{\w+\\\}", "[^/]+", re.escape(address)))
    for method, address, _ in _PAGES
    if method == "GET" and address not in SENT_AS_FILES
}
NOT_LINKED = {
    "/establish": "/establish",  # linked until it is done
    "/sign-in": "/sign-in",  # the head leads there where people sign in
    "/results/{result}/sign": "/results/R-0001/sign",  # so does a result
}
REPORTED_SAMPLE = "/samples/S-0005"  # a ramp with a result: it leads to more than another does
PRESSES = 3
HYPHEN_FOR_MINUS = re.compile(r"(?:^|[\s(=±])-\d")
PROGRAMMERS_WORDS = re.compile(
    r"\b(?:\w+_\w+|deg[CF])\b|\b(?:None|True|False|null|NaN|nan)\b(?![ a-z.])"
)

pytestmark = BROWSER


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> Iterator[str]:
    """The demo laboratory, served on a free port."""
    url = f"sqlite:///{tmp_path_factory.mktemp('demo')}/records.sqlite"
    run_demo(url, quiet=True)
    with listen(0) as socket:
        application = create_app(lambda: open_laboratory(url, by="at"))
        server = uvicorn.Server(uvicorn.Config(application, log_level="error"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [socket]})
        thread.start()
        yield f"http://127.0.0.1:{socket.getsockname()[1]}"
        server.should_exit = True
        thread.join()


def route_of(address: str) -> str | None:
    path = address.split("?", maxsplit=1)[0].split("#", maxsplit=1)[0]
    fitting = [route for route, pattern in PAGES.items() if pattern.fullmatch(path)]
    return min(fitting, key=lambda route: route.count("{"), default=None)


def faults_of(page) -> Iterator[str]:
    """Name what is wrong with the page that is shown, its folds open."""
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    if (headings := page.locator("h1").count()) != 1:
        yield f"{headings} headings of the first level"
    if page.evaluate("document.documentElement.scrollWidth > window.innerWidth"):
        yield "wider than the screen"
    words = page.locator("body").inner_text()
    for pattern in (HYPHEN_FOR_MINUS, PROGRAMMERS_WORDS):
        yield from (
            f"says “{words[m.start() - 20 : m.end() + 5]}”" for m in pattern.finditer(words)
        )
    page.evaluate(AXE)
    found = page.evaluate(
        "tags => axe.run(document, {runOnly: tags, resultTypes: ['violations']})", TAGS
    )
    for each in found["violations"]:
        yield f"{each['id']}: {each['nodes'][0]['html'][:120]}"


@pytest.mark.parametrize(("width", "scheme"), [(390, "dark"), (1280, "light")])
def test_every_page_is_reached_fits_and_passes_axe(chromium, demo, width, scheme) -> None:
    """One address of each page; from the front page each is at most a few presses away."""
    context = chromium.new_context(
        base_url=demo, viewport={"width": width, "height": 800}, color_scheme=scheme
    )
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{page.url}: {message.text}"))
    page.on("pageerror", lambda error: said.append(f"{page.url}: {error}"))
    waiting = [
        (0, "/"),
        (1, REPORTED_SAMPLE),
        *((PRESSES, address) for address in NOT_LINKED.values()),
    ]
    seen: set[str | None] = {None}
    faults: list[str] = []
    while waiting:
        presses, address = waiting.pop(0)
        if (route := route_of(address)) in seen:
            continue
        seen.add(route)
        page.goto(address)
        faults += [f"{address}: {fault}" for fault in faults_of(page)]
        if presses < PRESSES:
            links = page.locator("a[href^='/']").evaluate_all(
                "all => all.map(one => one.getAttribute('href'))"
            )
            waiting += [(presses + 1, link) for link in links]
            waiting.sort(key=lambda one: one[0])
    context.close()
    assert not faults, "\n".join(faults)
    assert said == []
    assert seen - {None} == set(PAGES), "reached by no link"
