"""What the comparison's notebook calls: open the two records that its parameters name, or readings in their place.

Where there are no records yet, the same place in a visit's folder is looked at: what its record would hold is made
from the readings in memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.notebook.frame.parameters import check_parameters, require_text
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.compare.comparison import (
    Comparison,
    OpenedRecord,
    compare_records,
    earlier_revision,
    open_record,
)
from vibcal_nb.records.compare.from_readings import from_readings, is_place_of_readings

PARAMETERS = ("record", "other")
_ENDING = ".ipynb"


def open_comparison(namespace: Mapping[str, Any]) -> Comparison:
    """Compare the records that a notebook's parameters name; ``namespace`` is the notebook's ``globals()``.

    Raises ``ParameterError``, ``InputRefused`` or ``Refused``, which the notebook shows as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, PARAMETERS)
    first = _opened("record", require_text("record", namespace.get("record")))
    other = str(namespace.get("other") or "")
    if other:
        return compare_records(first, _opened("other", other))
    if not first.is_sealed:
        raise ParameterError("The parameter other is empty, and readings replaced no revision; give a second place.")
    return compare_records(earlier_revision(first), first)


def _opened(name: str, text: str) -> OpenedRecord:
    path = Path(text)
    found = path if text.endswith(_ENDING) else path.with_name(f"{path.name}{_ENDING}")
    if found.is_file():
        return open_record(found)
    if is_place_of_readings(path):
        return from_readings(path.with_name(path.name.removesuffix(_ENDING)))
    raise ParameterError(
        f"The parameter {name} is {text!r}, and no record is there; give a record, VISIT/CHANNEL/ANALYSIS.CONDITION "
        "below the records, or the same below the site's folder, where the visit's readings are looked at."
    )
