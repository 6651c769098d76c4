"""Every state of the pages in a real browser: accessible, and no wider than the screen."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from presses import BROWSER, press

AXE = (Path(__file__).parents[2] / "vendor" / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]

pytestmark = BROWSER

PATHS = (
    "/",
    "/?q=nothing",
    "/samples/new",
    "/establish",
    "/status",
    "/person",
    "/nowhere",
    "/methods",
    "/methods/d93-b",
    "/methods/d8174",
    "/methods/d93-b/confirm",
)


def states(clock: Any, begun: Callable[..., str], page) -> Iterator[str]:
    """Bring the page into every state that a person can see, and name it."""
    for path in PATHS:
        page.goto(path)
        yield path
    page.goto("/samples/new")
    page.get_by_role("button", name="Record the sample").click()
    yield "a faulty sample"
    for path in ("/apparatus", "/apparatus/SC-1", "/holds", "/failures", "/person"):
        page.goto(path)
        page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
        yield f"{path}, all open"
    page.get_by_role("button", name="Register the person").click()
    yield "a faulty person"
    page.goto("/apparatus/SC-1")
    page.get_by_role("button", name="Record the card of the day").click()
    yield "a card of the day with open items"
    series = begun()
    page.goto("/")
    yield "the list"
    page.goto("/samples/S-0001")
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    yield "a sample at the bench"
    page.goto(f"/bench/{series}")
    yield "set the cup"
    press(page, "Cup is set")
    yield "load"
    page.get_by_label("Cup shows at loading").fill("180")
    press(page, "Specimen loaded")
    yield "refused"
    page.goto(f"/bench/{series}")
    press(page, "Specimen loaded")
    yield "counting"
    press(page, "No flash")
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    yield "one determination"
    press(page, "Specimen loaded")
    clock.forward(60)
    press(page, "Igniter out")
    yield "the igniter went out"
    yield from further_states(begun, page)
    ended = begun(limit="<60 degC")
    page.goto(f"/bench/{ended}")
    for name in ("Cup is set", "Specimen loaded", "Flash"):
        clock.forward(60)
        press(page, name)
    yield "finished"
    page.get_by_role("button", name="Issue the result").click()
    page.get_by_text("Release the result").wait_for()
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    yield "a result"


def further_states(begun: Callable[..., str], page) -> Iterator[str]:
    """A cold cup, a ramp worked by hand, a series that ends early."""
    page.goto(f"/bench/{begun(expected='0 degC')}")
    for name in ("Cup is set", "Specimen loaded"):
        press(page, name)
    yield "a cold cup recovers"
    page.goto(f"/bench/{begun(method='d7236')}")
    for name in ("Cup is set", "Specimen loaded"):
        press(page, name)
    yield "start heating"
    page.get_by_label("The apparatus applies the igniter by itself").uncheck()
    for name in ("Heating started", "No flash"):
        press(page, name)
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    yield "a ramp by hand"
    press(page, "Specimen lost")
    page.locator("#end-series").locator("xpath=ancestor::details").evaluate("it => it.open = true")
    page.get_by_label("Why it ends here").fill("sample used up")
    press(page, "End the series")
    yield "ended early"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 1280])
def test_every_state_passes_axe_and_fits(browser, clock, begun, scheme, width) -> None:
    page = browser.page
    page.set_viewport_size({"width": width, "height": 800})
    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    faults = []
    for state in states(clock, begun, page):
        page.wait_for_load_state()
        page.evaluate(AXE)
        found = page.evaluate(
            "options => axe.run(document, options)",
            {
                "runOnly": {"type": "tag", "values": TAGS},
                "rules": {"target-size": {"enabled": True}},
            },
        )
        # axe cannot judge contrast inside a drawing or behind a scrolled edge; test_palette does.
        undecided = [each for each in found["incomplete"] if each["id"] != "color-contrast"]
        faults += [
            f"{state}: {each['id']}: {node['html'][:120]} {node['failureSummary']}"
            for each in (*found["violations"], *undecided)
            for node in each["nodes"]
        ]
        if page.evaluate("document.documentElement.scrollWidth > window.innerWidth"):
            faults.append(f"{state}: wider than {width} px")
    browser.said[:] = [said for said in browser.said if "Failed to load resource" not in said]
    assert not faults, "\n".join(faults)
