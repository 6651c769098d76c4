"""Where the records are on each system."""

import sys
from pathlib import Path

import pytest

from closedcup.records import default_url


@pytest.mark.parametrize(
    ("platform", "variables", "expected"),
    [
        ("linux", {}, "sqlite:////home/ann/.local/share/closedcup/records.sqlite"),
        ("linux", {"XDG_DATA_HOME": "/data"}, "sqlite:////data/closedcup/records.sqlite"),
        ("linux", {"XDG_DATA_HOME": "relative"},
         "sqlite:////home/ann/.local/share/closedcup/records.sqlite"),
        ("darwin", {}, "sqlite:////home/ann/Library/Application Support/closedcup/records.sqlite"),
        ("win32", {"LOCALAPPDATA": "C:/Users/ann/AppData/Local"},
         "sqlite:///C:/Users/ann/AppData/Local/closedcup/records.sqlite"),
        ("win32", {}, "sqlite:////home/ann/AppData/Local/closedcup/records.sqlite"),
    ],
)  # fmt: skip
def test_the_usual_place(monkeypatch, platform, variables, expected):
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setattr(Path, "home", lambda: Path("/home/ann"))
    for name in ("XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert default_url() == expected
