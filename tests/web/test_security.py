"""What comes from elsewhere is refused before anything is read; every answer has its headers."""

import re

import pytest
from starlette.testclient import TestClient

from closedcup.app.web.security import LARGEST_FORM_BYTES

PATHS = [
    "/",
    "/samples/new",
    "/apparatus",
    "/status",
    "/nowhere",
    "/api/methods",
    "/static/base.css",
]


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_has_a_strict_policy(pages: TestClient, path: str) -> None:
    headers = pages.get(path).headers
    policy = dict(part.split(" ", 1) for part in headers["content-security-policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert set(policy.values()) == {"'none'", "'self'"}
    assert headers["x-content-type-options"] == "nosniff"
    stored = "no-cache" if path.startswith("/static") else "no-store"
    assert headers["cache-control"] == stored


@pytest.mark.parametrize("host", ["lab.example", "127.0.0.1.lab.example", "10.0.0.7:8460", ""])
def test_another_name_for_this_pc_is_refused(pages: TestClient, host: str) -> None:
    answer = pages.get("/", headers={"Host": host})
    assert answer.status_code == 421
    assert "content-security-policy" in answer.headers


@pytest.mark.parametrize("host", ["127.0.0.1:8460", "localhost:8460", "[::1]:8460"])
def test_this_pc_is_answered(pages: TestClient, host: str) -> None:
    assert pages.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://lab.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Origin": "https://127.0.0.1:8460"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "http://127.0.0.1:8460", "Sec-Fetch-Site": "cross-site"},
        {},
    ],
)
def test_a_form_of_another_page_records_nothing(
    pages: TestClient, opened, headers: dict[str, str]
) -> None:
    before = opened.store.head()
    del pages.headers["Origin"], pages.headers["Sec-Fetch-Site"]
    typed = {"description": "Forged", "customer": "x", "volume_ml": "50", "key": "k"}
    assert pages.post("/samples/new", data=typed, headers=headers).status_code == 403
    assert opened.store.head() == before


def test_a_huge_form_is_refused(pages: TestClient) -> None:
    typed = {"description": "x" * LARGEST_FORM_BYTES}
    assert pages.post("/samples/new", data=typed).status_code == 413


def test_nothing_changes_by_looking(pages: TestClient, opened) -> None:
    """Every address is asked by GET, HEAD and the methods that are not answered."""
    before = opened.store.head()
    for route in pages.app.routes:
        address = re.sub(r"{\w+}", "S-0001", getattr(route, "path", "/"))
        for method in ("GET", "HEAD", "PUT", "DELETE", "OPTIONS", "PATCH"):
            pages.request(method, address)
    assert opened.store.head() == before


def test_no_page_holds_a_script_or_style_of_its_own(pages: TestClient, series: str) -> None:
    for path in ("/", "/samples/new", f"/bench/{series}", "/samples/S-0001", "/status"):
        html = pages.get(path).text
        assert not re.search(r"<style|\sstyle=|\son\w+=|javascript:|<script(?![^>]*\ssrc=)", html)
        assert not re.search(r"(?:src|href|action)=\"(?!/|#)", html)
