"""The dwell in the terminal: counted down by the wall clock."""

from datetime import datetime, timedelta

from closedcup.app.cli.bench import count_down


def test_the_dwell_is_counted_by_the_clock_and_not_by_the_pauses(capsys):
    now = [datetime(2026, 3, 2, 7, 0)]  # noqa: DTZ001 - only differences count

    def slow(seconds):
        now[0] += timedelta(seconds=seconds + 20)  # the machine slept

    count_down(now[0] + timedelta(seconds=62), lambda: now[0], slow)
    said = capsys.readouterr().out
    assert [part.strip() for part in said.split("\r")[1:]] == [
        "1:02 left",
        "0:41 left",
        "0:20 left",
        "The dwell is over. Apply the igniter.\a",
    ]
