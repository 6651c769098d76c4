"""Rules for all tests: in CI nothing is skipped."""

import os

import pytest


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Fail a CI run in which a test was skipped: a skip there hides a missing install step."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter else []
    if skipped and os.environ.get("CI") and session.exitstatus == 0:
        reporter.write_line(f"{len(skipped)} skipped, which CI forbids:", red=True)
        for report in skipped:
            reporter.write_line(f"  {report.nodeid}: {report.longrepr[2]}")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
