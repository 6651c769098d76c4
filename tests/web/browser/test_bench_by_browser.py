"""The bench in a real browser: one press, the dwell, an interrupted page, no answer, no scripts."""

from datetime import timedelta

import pytest
from presses import BROWSER, entries, press

from closedcup.app.opening import local_now
from closedcup.app.usecases.bench import benching
from closedcup.methods import Observation

GLOVED_PX, LEAST_PX = 64, 48

pytestmark = BROWSER


def test_a_series_from_the_first_setting_to_its_result(browser, opened, begun, clock) -> None:
    series = begun(limit="<60 degC")
    page = browser.page
    page.goto(f"/bench/{series}")
    figure = page.locator(".huge").first.inner_text().split("°")[0].strip()
    assert page.get_by_label("Cup is set to, °C").input_value() == figure
    press(page, "Cup is set")
    press(page, "Specimen loaded")
    assert page.get_by_role("timer").inner_text() in {"1:00", "0:59"}
    press(page, "Flash")
    assert "is void" in page.locator(".last").inner_text()
    assert "flash" in page.locator("#bench-says").inner_text()
    press(page, "Specimen loaded")
    clock.forward(60)
    page.get_by_label("flash", exact=True).check()
    press(page, "Flash")
    last = entries(opened, series)[-1]
    assert (last["seen"], last["detector"]) == ("flash", "flash")
    assert page.locator(".picture svg").count() == 1
    page.get_by_role("button", name="Issue the result").click()
    page.get_by_text("Flash at").first.wait_for()
    assert page.url.split("/")[-1].startswith("S-0001")


def test_a_double_press_records_once(browser, opened, series) -> None:
    page = browser.page
    page.goto(f"/bench/{series}")
    press(page, "Cup is set")
    press(page, "Specimen loaded")
    before = len(entries(opened, series))
    page.get_by_role("button", name="No flash", exact=True).dblclick()
    page.get_by_text("igniter applied").first.wait_for()
    page.wait_for_load_state("networkidle")
    assert len(entries(opened, series)) == before + 1


def test_a_press_is_withdrawn_at_once_with_a_reason(browser, opened, series) -> None:
    page = browser.page
    page.goto(f"/bench/{series}")
    press(page, "Cup is set")
    press(page, "Specimen loaded")
    press(page, "Flash")
    page.get_by_label("What was wrong with it").fill("wrong button")
    press(page, "Withdraw")
    assert page.get_by_text("withdrawn: wrong button").count() > 0
    assert page.get_by_role("button", name="No flash", exact=True).is_visible()
    assert entries(opened, series)[2]["withdrawn"]


def test_the_dwell_counts_by_the_wall_clock_and_announces(browser, opened, series) -> None:
    cup_c = benching.bench(opened, series).series.start_cup_c
    now = local_now()
    benching.set_cup(opened, series, cup_c, observed_at=now - timedelta(seconds=90))
    benching.load_specimen(opened, series, cup_c, observed_at=now - timedelta(seconds=57))
    page = browser.page
    page.goto(f"/bench/{series}")
    assert page.get_by_role("timer").inner_text() in {"0:03", "0:02", "0:01"}
    page.get_by_text("dwell over by").wait_for()
    assert page.locator("#bench-says").inner_text() == "The dwell is over. Apply the igniter."
    page.reload()
    assert page.get_by_role("timer").inner_text() in {"0:00", "+0:01", "+0:02"}
    page.get_by_label("Cup shows at application").fill("33.3")
    page.wait_for_timeout(1200)
    assert page.get_by_label("Cup shows at application").input_value() == "33.3"
    assert page.get_by_role("button", name="Flash", exact=True).is_enabled()


def test_an_interrupted_page_resumes_where_it_stood(browser, opened, series) -> None:
    page = browser.page
    page.goto(f"/bench/{series}")
    press(page, "Cup is set")
    press(page, "Specimen loaded")
    shown = page.locator("#do-now").inner_text()
    page.close()
    browser.page = again = browser.context.new_page()
    again.goto(f"/bench/{series}")
    assert again.locator("#do-now").inner_text() == shown
    assert again.get_by_role("timer").inner_text() != ""


def test_a_press_without_an_answer_is_pressed_again_and_recorded_once(
    browser, opened, series
) -> None:
    """The entry is made, its answer is lost: what a pulled plug looks like from the page."""
    page = browser.page
    page.goto(f"/bench/{series}")

    def lose_the_answer(route) -> None:
        route.fetch()
        route.abort()

    page.route(f"**/bench/{series}", lose_the_answer)
    page.get_by_role("button", name="Cup is set").click()
    page.get_by_text("The program did not answer").wait_for()
    assert len(entries(opened, series)) == 1
    page.unroute(f"**/bench/{series}")
    press(page, "Cup is set")
    assert page.get_by_text("The program did not answer").is_hidden()
    assert len(entries(opened, series)) == 1
    assert page.get_by_role("button", name="Specimen loaded").is_visible()
    browser.said.clear()  # the lost answer is meant


def test_a_refused_press_keeps_what_was_typed(browser, opened, series) -> None:
    page = browser.page
    page.goto(f"/bench/{series}")
    press(page, "Cup is set")
    page.get_by_text("Note a deviation").click()
    page.get_by_label("What was not done as the method says").fill("half a sen")
    page.get_by_label("Cup shows at loading").fill("180")
    press(page, "Specimen loaded")
    assert "never above" in page.get_by_role("alert").inner_text()
    assert page.get_by_label("Cup shows at loading").input_value() == "180"
    assert page.get_by_label("What was not done as the method says").input_value() == "half a sen"
    browser.said.clear()  # the browser itself logs the 422


def test_enter_records_nothing_and_the_keyboard_suffices(browser, opened, series) -> None:
    page = browser.page
    page.goto(f"/bench/{series}")
    field = page.get_by_label("Cup is set to, °C")
    field.focus()
    page.keyboard.press("Enter")
    page.wait_for_timeout(200)
    assert entries(opened, series) == []
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    page.get_by_role("button", name="Specimen loaded").wait_for()
    assert len(entries(opened, series)) == 1


def test_without_scripts_the_bench_works_the_same(chromium, site, opened, series) -> None:
    context = chromium.new_context(base_url=site, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"/bench/{series}")
    page.get_by_role("button", name="Cup is set").click()
    page.get_by_role("button", name="Specimen loaded").click()
    page.get_by_text("so apply at").wait_for()
    page.get_by_role("button", name="No flash", exact=True).click()
    page.get_by_text("igniter applied").first.wait_for()
    context.close()
    assert len(entries(opened, series)) == 3


@pytest.mark.parametrize("width", [320, 768, 1280])
def test_buttons_are_large_enough_for_gloves(browser, opened, series, width) -> None:
    page = browser.page
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(f"/bench/{series}")
    press(page, "Cup is set")
    press(page, "Specimen loaded")
    for seen in Observation:
        name = seen.value.capitalize()
        box = page.get_by_role("button", name=name, exact=True).bounding_box()
        at_once = seen in {Observation.FLASH, Observation.NO_FLASH}
        assert min(box["width"], box["height"]) >= (GLOVED_PX if at_once else LEAST_PX)
