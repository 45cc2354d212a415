"""What the screen is told: figure, readings, answer and controls, as plain data that goes over the wire."""

from __future__ import annotations

from typing import Any

from vibcal_nb.display.results.view import Grip
from vibcal_nb.notebook.touch.exploration import Exploration
from vibcal_nb.notebook.touch.subject import RECORD, AnyControl, Choice, Data, Outcome, Subject, differences

_PAIRS = (-8.0, 0.0)


def headline(answer: str, record: str, *, is_record: bool, base: str = RECORD) -> str:
    """Say whose answer is seen: "what if, not the record: fail | record: pass"."""
    return f"as in the {base}: {record}" if is_record else f"what if, not the {base}: {answer} | {base}: {record}"


def file_name(subject: Subject, *, is_record: bool) -> str:
    """Return the name, without its ending, of a figure that is saved."""
    words = f"as in the {subject.base}" if is_record else f"what if, not the {subject.base}"
    return ".".join(part.replace(", ", " ").replace(" ", "-") for part in (*subject.parts, words))


def shown(subject: Subject, outcome: Outcome, record: Outcome, exploration: Exploration) -> Data:
    """Return all that follows a move: what is seen, how it differs from the record, and what can be done next."""
    is_record, stand = exploration.is_record, exploration.stand
    named: dict[str, Any] = {"each": subject.each, "texts": subject.texts}
    return {
        "subject": subject.name,
        "base": subject.base,
        "each": subject.each,
        "headline": headline(outcome.answer, record.answer, is_record=is_record, base=subject.base),
        "is_record": is_record,
        "differences": list(differences(exploration.record, stand, subject.controls, **named)),
        "figure": outcome.figure,
        "file": file_name(subject, is_record=is_record),
        "summary": outcome.summary,
        "values": dict(stand.values),
        "grips": [grip_data(grip) for grip in outcome.grips],
        "undo": exploration.can_undo,
        "redo": exploration.can_redo,
        **_with_stand(outcome.readings, exploration, subject),
    }


def _with_stand(table: Data, exploration: Exploration, subject: Subject) -> Data:
    """Return a table of readings with what is left out: by whom, and why."""
    stand, filed = exploration.stand, exploration.record.left_out
    readings = [
        item
        | {
            "label": f"{subject.each} {subject.texts.get(item['row'], item['row'])}",
            "out": item["row"] in stand.left_out,
            "why": stand.left_out.get(item["row"], ""),
            "filed": filed.get(item["row"], ""),
            "cells": [*item["cells"], stand.left_out.get(item["row"], "")],
            "sort": [*item["sort"], None],
        }
        for item in table["readings"]
    ]
    return {
        "headings": [*table["headings"], "left out because"],
        "numeric": [*table["numeric"], False],
        "readings": readings,
    }


def grip_data(grip: Grip) -> Data:
    """Return a grip as plain data."""
    return {name: getattr(grip, name) for name in ("control", "pane", "along", "per", "base", "part")}


def control_data(control: AnyControl) -> Data:
    """Return what a control is; where it stands is told with every move."""
    common: dict[str, Any] = {"name": control.name, "label": control.label}
    if isinstance(control, Choice):
        options = [{"text": text, "value": value} for text, value in control.options]
        return common | {"kind": "choice", "options": options}
    if control.kind == "range":
        low, high = min(_PAIRS[0], control.value[0]), max(_PAIRS[1], control.value[1])
        return common | {"kind": "pair", "least": low, "most": high, "step": control.step}
    most = max(control.most, control.value)
    return common | {"kind": "number", "least": control.step, "most": most, "step": control.step}
