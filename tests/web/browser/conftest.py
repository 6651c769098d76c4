"""The pages served on a free port, and a real browser that must say nothing by itself."""

import threading
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
import uvicorn
from presses import CHROMIUM

from closedcup.app.opening import OpenLaboratory, local_now, open_laboratory
from closedcup.app.web.application import create_app
from closedcup.app.web.serving import listen

OPTIONS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="module")
def chromium() -> Iterator[object]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=OPTIONS)
        yield browser
        browser.close()


class ShiftedClock:
    """The PC's own clock, put forward where a test does not wait."""

    def __init__(self) -> None:
        self.ahead = timedelta()

    def __call__(self) -> datetime:
        return local_now() + self.ahead

    def forward(self, seconds: float) -> None:
        self.ahead += timedelta(seconds=seconds)


@pytest.fixture
def clock() -> ShiftedClock:
    return ShiftedClock()


@pytest.fixture
def site(opened: OpenLaboratory, tmp_path: Path, clock: ShiftedClock) -> Iterator[str]:
    """The pages served on a free port of this PC."""
    socket = listen(0)
    application = create_app(
        lambda: open_laboratory(f"sqlite:///{tmp_path}/records.sqlite", by="an", clock=clock)
    )
    server = uvicorn.Server(uvicorn.Config(application, log_level="error"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [socket]})
    thread.start()
    yield f"http://127.0.0.1:{socket.getsockname()[1]}"
    server.should_exit = True
    thread.join()
    socket.close()


@pytest.fixture
def browser(chromium, site: str) -> Iterator[SimpleNamespace]:
    """A page that must end without a console message and without an outside request.

    Where a test means a press to be refused, it clears `said` itself.
    """
    context = chromium.new_context(base_url=site, viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.set_default_timeout(5000)
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{page.url}: {message.text}"))
    page.on("pageerror", lambda error: said.append(f"{page.url}: {error}"))
    page.on(
        "request",
        lambda request: None if request.url.startswith(site) else said.append(request.url),
    )
    yield SimpleNamespace(page=page, said=said, context=context)
    context.close()
    assert said == []
