"""What the visit's file wants, asked for once and put into it; what a person wrote there stays as it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.read_visit import read_visit
from vibcal_nb.problems import InputRefused, Problem
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.new_files.changed import with_values
from vibcal_nb.records.new_files.file_texts import VISIT


def put_into_visit(visit_folder: Path, values: Mapping[tuple[str, ...], Mapping[str, Any]]) -> None:
    """Put values into visit.toml, by table; the top one is ``()``. The file is read before it is replaced.

    Raises ``InputRefused`` with every problem, ``NotDone`` or ``OSError``: the file stands as it was then.
    """
    path = visit_folder / VISIT
    text = path.read_bytes().decode("utf-8-sig")
    for table, changes in values.items():
        text = with_values(text, table, changes, file=VISIT)
    problems: list[Problem] = []
    trial = path.with_name(f".{VISIT}.trial")
    try:
        trial.write_bytes(text.encode("utf-8"))
        read_visit(trial, problems)
    finally:
        trial.unlink(missing_ok=True)
    if problems:
        raise InputRefused([replace(problem, file=VISIT) for problem in problems])
    write_atomically(path, text)
