"""Heating and cooling on an apparatus's page: assumed until somebody says what they rest on."""


def test_rates_are_noted_with_their_source(pages, opened):
    assert "assumed until noted" in pages.get("/apparatus/SC-1").text
    sent = {"key": "k1", "heats": "12", "cools": "2,5"}
    refused = pages.post("/apparatus/SC-1/rates", data=sent)
    assert refused.status_code == 400
    assert "Say what the two rest on" in refused.text
    assert 'value="2,5"' in refused.text
    done = pages.post("/apparatus/SC-1/rates", data=sent | {"basis": "stop watch"})
    assert done.status_code == 303
    assert float(opened.state.cup_rates["SC-1"].cools_c_per_min) == 2.5
    text = pages.get("/apparatus/SC-1").text
    assert "stop watch" in text
    assert "assumed until noted" not in text
    wrong = sent | {"key": "k2", "heats": "-3", "basis": "guess"}
    assert "No cup does" in pages.post("/apparatus/SC-1/rates", data=wrong).text
    seen = pages.post("/apparatus/SC-1/rates", data={"key": "k3", "seen": "yes"})
    assert "0 moves up" in seen.text
