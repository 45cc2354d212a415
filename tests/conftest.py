"""What the tests' summary says beside their outcomes, and where their kernels listen."""

from __future__ import annotations

from typing import Any

from hypothesis import settings

from tests.support.running.kernel_ports import OwnPorts

settings.register_profile("untimed", deadline=None)  # no test fails for the time that it takes
settings.load_profile("untimed")


def pytest_configure() -> None:
    """Give kernels ports that nothing else is given; the first of its kind is everybody's."""
    OwnPorts.instance()


#: Modules that take longer than daily work waits for: whole runs, kernels, browsers, simulations, fuzzing.
SLOW = (
    "notebooks/",
    "tests/notebook/",
    "tests/running/",
    "tests/whole/test_a_further_analysis",
    "tests/whole/test_browser",
    "tests/whole/test_hostile_site",
    "tests/whole/test_pages",
    "tests/inputs/test_fuzzed_inputs",
    "tests/inputs/test_hostile_sizes",
    "tests/inputs/test_other_systems",
    "tests/records/test_channel_report",
    "tests/records/test_reading_sheet",
    "tests/records/test_register",
    "tests/analysis/channel/test_channel_verdict",
    "tests/analysis/faults/test_faults",
    "tests/analysis/planning/test_power",
    "tests/analysis/readings/test_waveform_reading",
    "tests/analysis/test_result.py",
    "tests/metrology/sine/test_sine",
    "tests/metrology/over_time/test_trend",
    "tests/metrology/straight_line/test_isa_51_1",
    "tests/metrology/uncertainty/test_jcgm_101",
    "tests/metrology/uncertainty/test_uncertainty_laws",
)


def pytest_collection_modifyitems(items: list[Any]) -> None:
    """Mark what belongs to daily work (``-m daily``): what ends within a minute on two cores."""
    for item in items:
        if not item.nodeid.startswith(SLOW):
            item.add_marker("daily")


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """List the figures that tests recorded; no test judges them, since other tests run beside it."""
    figures = [item for report in terminalreporter.getreports("passed") for item in report.user_properties]
    if figures:
        terminalreporter.section("measured while other tests ran")
        for name, text in figures:
            terminalreporter.write_line(f"{name:24} {text}")
