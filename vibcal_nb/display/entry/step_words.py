"""What is to be set and read next, in large type."""

from __future__ import annotations

from html import escape

from vibcal_nb.analysis.entry.steps import Step
from vibcal_nb.analysis.planning.expected_output import ExpectedOutput
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.numbers import number
from vibcal_nb.units import Unit, as_printed


def unit_text(unit: Unit) -> str:
    """Write a unit as it is printed."""
    return as_printed(unit.text)


def level_text(step: Step) -> str:
    """Name what is to be set: ``11 mm/s pk at 50 Hz``."""
    level = "a level" if step.level is None else f"{number(step.level, digits=4)} {unit_text(step.applied_unit)}"
    return f"{_short(level)} at {step.frequency_hz:.5g}\u00a0Hz" if step.frequency_hz else _short(level)


def _short(text: str) -> str:
    """Without zeros that nobody sets: ``11.00 mm/s`` is ``11 mm/s``."""
    value, _, unit = text.partition(" ")
    return f"{value.rstrip('0').rstrip('.')} {unit}" if "." in value else text


def step_name(step: Step) -> str:
    """Name a step in a list: what to set, and what for."""
    extra = [step.direction or "", f"pass {step.repeat}" if (step.repeat or 1) > 1 else "", step.purpose]
    return ", ".join([level_text(step), *(text for text in extra if text)])


def step_html(step: Step, expected: ExpectedOutput | None, *, place: str) -> str:
    """Return the step as HTML; ``place`` says where it stands among the others."""
    direction = f", {escape(step.direction)}" if step.direction else ""
    head = f"{spoken(step.test)}{direction} · {place}"
    for_ = f"<p class='small'>What for: {escape(step.purpose)}</p>" if step.purpose else ""
    return (
        f"<div class='step'><p class='small'>{escape(head)}</p><p class='set'>Set {escape(level_text(step))}</p>"
        f"<p class='give'>{expected_html(expected, step.output_unit)}</p>{for_}</div>"
    )


def expected_html(expected: ExpectedOutput | None, unit: Unit) -> str:
    """Say what a good channel puts out, and between which limits."""
    if expected is None:
        return "Nothing states what a good channel puts out here."
    low, middle, high = (number(value) for value in (expected.lowest, expected.expected, expected.highest))
    return f"A good channel gives <b>{middle}</b> {escape(unit_text(unit))}, from {low} to {high}."


def nothing_left_html(channel: str, others: int) -> str:
    """Say that no step of a channel is left."""
    rest = f" {others} are left on other channels." if others else " Nothing is left on the other channels either."
    return (
        f"<div class='step'><p class='set'>Nothing is left on {escape(channel)}</p><p class='give'>See whether it may "
        f"come off.{rest}</p></div>"
    )
