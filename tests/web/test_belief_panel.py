"""What is believed stands on the bench and on the plan; screening is called what it is."""

from closedcup.app.usecases.planning.advising import next_temperature


def test_the_bench_shows_what_is_believed(pages, series, press, opened, clock):
    text = pages.get(f"/bench/{series}").text
    assert "Where the flash point lies" in text
    assert "Still to come" in text
    assert "assumed: no rates of SC-1 are on record" in text
    told = next_temperature(opened, series)
    assert f"{told['belief']['low_corrected_c']:.1f}".replace("-", "−") in text
    for button in ("cup", "specimen", "saw:no flash"):
        clock.forward(60)
        answer = press(series, button, f"key-{button}", cup=str(told["cup_c"]))
        assert answer.status_code == 303
    assert "Specimens: " in pages.get(f"/bench/{series}").text


def test_a_ramp_has_no_search_to_believe_in(pages, begun):
    answer = pages.get(f"/bench/{begun(method='d7236')}")
    assert answer.status_code == 200
    assert "Where the flash point lies" not in answer.text


def test_screening_says_that_it_is_no_method(pages, series):
    text = pages.get(f"/bench/{series}/screening").text
    assert "never a result of a method" in text
    assert "A free search would look at" in text


def test_a_plan_says_what_it_believes_and_expects(pages, series, opened):
    test = opened.state.series[series].test
    text = pages.get(f"/samples/{opened.state.tests[test].sample}").text
    for words in ("Believed, corrected", "On average", "Cup&#39;s rates", "SC-1 was named."):
        assert words.replace("&#39;", "'") in text or words in text
    assert "Where the flash point is believed to lie" in text
