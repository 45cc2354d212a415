"""Findings of a panel: keep where it stands, list what was kept, and go back to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from vibcal_nb.model.case import EXPLORATION
from vibcal_nb.notebook.touch.exploration import Stand
from vibcal_nb.notebook.touch.subject import Data, Subject
from vibcal_nb.problems import in_words
from vibcal_nb.records.findings.finding import (
    NOT_A_VERDICT,
    Finding,
    FindingRefused,
    findings_about,
    now,
    plain,
    write_finding,
)


class Kept:
    """The findings about one subject in the folder of its visit."""

    def __init__(self, visit: Path, subject: Subject) -> None:
        self._visit, self._subject = visit, subject
        self._parts = tuple(part for part in subject.parts if part != visit.name)
        self.findings = findings_about(visit, self._parts)

    def data(self) -> list[Data]:
        """Return the findings for the screen, the newest first."""
        return [
            {
                "number": item.number,
                "text": item.text,
                "by": item.by,
                "written": item.written,
                "headline": item.headline,
                "differences": list(item.differences),
            }
            for item in self.findings
        ]

    def keep(self, action: Mapping[str, Any], stand: Stand, seen: Data, further: Mapping[str, Any]) -> str:
        """Keep where a panel stands; return the sentence that says where. Raises ``FindingRefused``."""
        bare = [str(row) for row, why in stand.left_out.items() if why == EXPLORATION]
        if bare:
            raise FindingRefused(f"Nothing was kept: write down why row {bare[0]} is left out first.")
        finding = Finding(
            parts=self._parts,
            text=plain(str(action.get("text") or "")),
            by=plain(str(action.get("by") or "")),
            written=now(),
            headline=seen["headline"],
            differences=tuple(seen["differences"]),
            stand=stand_data(stand),
            further=further,
        )
        try:
            path = write_finding(self._visit, finding, plain(str(action.get("picture") or "")))
        except OSError as error:
            raise FindingRefused(f"Nothing was kept: {in_words(error)}") from error
        self.findings = findings_about(self._visit, self._parts)
        return f"Kept as {path.name} in {path.parent.parent.name}/{path.parent.name}. {NOT_A_VERDICT}"

    def stand_of(self, number: object, checked: Callable[[str, Any], Any]) -> Stand:
        """Return where a finding stood; ``checked`` checks the value of a control.

        Raises ``FindingRefused`` where there is no such finding, or where it is of other controls or rows.
        """
        item = next((item for item in self.findings if item.number == number), None)
        if item is None:
            raise FindingRefused(f"There is no finding {str(number)[:40]}.")
        record = self._subject.record
        try:
            values = {name: checked(name, value) for name, value in item.stand["values"].items()}
            left_out = {int(row): str(why) for row, why in item.stand["left_out"].items()}
            taken_back = {int(row): str(why) for row, why in item.stand["taken_back"].items()}
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise FindingRefused(f"Finding {item.number} holds what cannot be explored.") from error
        filed = set(record.left_out)
        if (
            set(values) != set(record.values)
            or not {*left_out, *taken_back} <= self._subject.rows
            or not filed - set(left_out) <= set(taken_back)
        ):
            raise FindingRefused(f"Finding {item.number} is about other readings or limits than there are now.")
        return Stand(values=values, left_out=dict(sorted(left_out.items())), taken_back=taken_back)


def stand_data(stand: Stand) -> Data:
    """Return a stand as a file holds it."""
    return {
        "values": {name: list(v) if isinstance(v, tuple) else v for name, v in stand.values.items()},
        "left_out": {str(row): why for row, why in stand.left_out.items()},
        "taken_back": {str(row): why for row, why in stand.taken_back.items()},
    }
