"""What the site overview notebook calls: open the site its parameters name, and look at it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.site.site_overview import SiteOverview, overview_of
from vibcal_nb.notebook.frame.parameters import check_parameters, require_number
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.register.read_site import collector_at_rest, read_site
from vibcal_nb.records.register.register import has_register, register_path
from vibcal_nb.records.register.returned_records import returned_records

PARAMETERS = ("site_folder", "on", "interval_months")


def open_site(namespace: Mapping[str, Any]) -> SiteOverview:
    """Open the site that a notebook's parameters name; ``namespace`` is the notebook's ``globals()``.

    Raises ``ParameterError``, ``InputRefused`` or ``RegisterUnusable``, which the notebook shows as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, PARAMETERS)
    folder, on, months = (namespace.get(name) for name in PARAMETERS)
    if not isinstance(folder, str) or not Path(folder).is_dir():
        raise ParameterError(f"The parameter site_folder is {folder!r}; give a records folder or a site folder.")
    return overview_of_folder(Path(folder), on=read_day(on), interval_months=months)


def overview_of_folder(folder: Path, *, on: date, interval_months: object) -> SiteOverview:
    """Read a records or site folder and look at it as on a day. Raises as `read_site` and ``ParameterError``."""
    interval = require_number("interval_months", interval_months, lambda value: 0.0 < value < 1e4)
    try:
        with collector_at_rest():
            overview = overview_of(read_site(folder), on=on, interval_months=interval)
    except ValueError as error:
        raise ParameterError(str(error)) from error
    if not has_register(register_path(folder)):
        return overview
    return replace(overview, returned=tuple(returned_records(folder)))


def read_day(text: object) -> date:
    """Return the day that a text names as ISO 8601 does. Raises ``ParameterError``."""
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        raise ParameterError(f"The day {text!r} is not a date; give one such as 2026-06-01.") from None
