"""Make the pictures of the pages for the README, from the demo laboratory: needs Chromium.

Run with `.venv/bin/python tools/picture_pages.py`; writes docs/pictures/bench.png.
"""

import shutil
import tempfile
import threading
from datetime import datetime, timedelta
from pathlib import Path

import uvicorn
from playwright.sync_api import Page, sync_playwright

from closedcup.app.opening import local_now, open_laboratory
from closedcup.app.usecases.desk.overview import sample_list
from closedcup.app.web.application import create_app
from closedcup.app.web.serving import listen
from closedcup.demo.run import run_demo

FOLDER = Path(__file__).parents[1] / "docs" / "pictures"
FLASHES_FROM_CUP_C = 12.0
OPTIONS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking")


class Clock:
    """This PC's clock, put forward by the dwells that are not waited for."""

    def __init__(self) -> None:
        self.ahead = timedelta()

    def __call__(self) -> datetime:
        """Return the time now, put forward."""
        return local_now() + self.ahead


def press(page: Page, name: str) -> bool:
    button = page.get_by_role("button", name=name, exact=True)
    if not button.count():
        return False
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        button.click()
    page.locator(".htmx-request").wait_for(state="detached")
    return True


def take_on(page: Page, clock: Clock) -> None:
    """Make determinations until the flash is bracketed, then load one more specimen."""
    seen = 0
    while seen < 2:
        press(page, "Cup is set")
        press(page, "Specimen loaded")
        press(page, "Cup has recovered")
        clock.ahead += timedelta(seconds=61)
        cup_c = float(page.locator(".huge").first.inner_text().split("°")[0].replace("−", "-"))
        flashes = cup_c >= FLASHES_FROM_CUP_C
        if not press(page, "Flash" if flashes else "No flash"):
            raise SystemExit("The bench page asks for something that this tool does not press.")
        seen += 1 if flashes or seen else 0
    press(page, "Cup is set")
    press(page, "Specimen loaded")
    press(page, "Cup has recovered")


def main() -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    clock = Clock()
    with tempfile.TemporaryDirectory() as folder, listen(0) as listening:
        url = f"sqlite:///{Path(folder) / 'records.sqlite'}"
        run_demo(url, quiet=True)
        with open_laboratory(url) as opened:
            standing = [row["next"] for row in sample_list(opened)]
        series = next(text for text in standing if text.startswith("bench ")).split()[1]
        application = create_app(lambda: open_laboratory(url, by="at", clock=clock))
        server = uvicorn.Server(uvicorn.Config(application, log_level="warning"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            picture(f"http://127.0.0.1:{listening.getsockname()[1]}/bench/{series}", clock)
        finally:
            server.should_exit = True
            thread.join()


def picture(address: str, clock: Clock) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=list(OPTIONS)
        )
        page = browser.new_page(viewport={"width": 1280, "height": 860})
        page.goto(address)
        take_on(page, clock)
        page.evaluate("scrollTo(0, 0); document.activeElement.blur()")
        page.wait_for_timeout(14_000)  # a dwell that has begun to count down
        page.screenshot(path=str(FOLDER / "bench.png"))
        browser.close()
    print(FOLDER / "bench.png")


if __name__ == "__main__":
    main()
