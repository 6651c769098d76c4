"""Press a button of the bench page, and look at what is on record then."""

import shutil

import pytest

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.bench.bench_overview import bench_overview

CHROMIUM = shutil.which("chromium")

BROWSER = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="Chromium is missing: apt-get install chromium"),
]
"""The marks of every test that needs the browser."""


def press(page, name: str) -> None:
    """Press a button and wait until the page shows what came of it."""
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.get_by_role("button", name=name, exact=True).click()
    page.locator(".htmx-request").wait_for(state="detached")


def entries(opened: OpenLaboratory, series: str) -> list[dict]:
    return bench_overview(opened, series)["entries"]
