"""What the tests' summary says beside their outcomes, and where their kernels listen."""

from __future__ import annotations

from typing import Any

from tests.support.kernel_ports import OwnPorts


def pytest_configure() -> None:
    """Give kernels ports that nothing else is given; the first of its kind is everybody's."""
    OwnPorts.instance()


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """List the figures that tests recorded; no test judges them, since other tests run beside it."""
    figures = [item for report in terminalreporter.getreports("passed") for item in report.user_properties]
    if figures:
        terminalreporter.section("measured while other tests ran")
        for name, text in figures:
            terminalreporter.write_line(f"{name:24} {text}")
