"""Whether a sensor may come off: what is missing, about how long it takes, and what to measure next."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from vibcal_nb.analysis.entry.coming_off import FAILS, JUDGED, NOT_YET, ComingOff, TestStanding
from vibcal_nb.analysis.entry.more_steps import LastCheck
from vibcal_nb.analysis.readings.grouping import REACHED
from vibcal_nb.analysis.result import DrivenSetPoint
from vibcal_nb.display.entry.step_words import step_name
from vibcal_nb.display.views import view_of
from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.display.writing.names import plural, spoken
from vibcal_nb.display.writing.numbers import number, percent
from vibcal_nb.units import Unit, as_printed

_SAID = {
    NOT_YET: ("doubt", "Leave the sensor on: what is listed below is missing."),
    JUDGED: ("good", "Every planned test is read and judged. Take the last check, and it may come off."),
    FAILS: ("bad", "Leave the sensor on, and measure what tells the likely faults apart while it is on the shaker."),
}
_MOST_STEPS = 8
CAUTION = (
    "What comes off does not protect: the machine is guarded by this channel again only when it is refitted, torqued, "
    "its inhibit is removed and its trip path proved, under the site's permit and procedure."
)


def state_html(found: ComingOff, *, seconds: float) -> str:
    """Return the state in plain words, and about how long the rest takes."""
    kind, said = _SAID[found.state]
    left = len(found.missing)
    takes = f" {plural(left, 'reading')} left, about {duration(left * seconds)}." if left else ""
    title = f"{found.channel}, {spoken(found.condition)}: may it come off?"
    state = f"{_MARK[found.state]} {escape(found.state)}"
    return f"<h2>{escape(title)}</h2><p class='state {kind}'>{state}</p><p>{said}{takes}</p>"


_MARK = {NOT_YET: "…", JUDGED: "✓", FAILS: "✗"}


def duration(seconds: float) -> str:
    """Say about how long something takes."""
    minutes = max(round(seconds / 60.0), 1)
    return f"{minutes} min" if minutes < 90 else f"{minutes / 60.0:.1f} h"


def tests_html(found: ComingOff, *, seconds: float) -> str:
    """Return the tests one by one: what is read, what is missing, what it would be judged, and why."""
    return "".join(_test(test, seconds) for test in found.tests)


def _test(test: TestStanding, seconds: float) -> str:
    chip = chip_html(test.verdict) if test.verdict else "<b>not judged yet</b>"
    left = f", {len(test.missing)} left, about {duration(len(test.missing) * seconds)}" if test.missing else ""
    steps = [step_name(step) for step in test.missing[:_MOST_STEPS]]
    more = len(test.missing) - len(steps)
    lines = [*test.why[:3], *(f"to read: {step}" for step in steps), *([f"and {more} more"] if more > 0 else [])]
    if not isinstance(test.performed, str):
        lines.insert(0, view_of(test.performed).sentence(test.performed))
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<h3>{spoken(test.test)} {chip}</h3><p>{plural(test.read, 'reading')} read{left}.</p><ul>{items}</ul>"


def set_points_html(driven: Sequence[DrivenSetPoint], unit: Unit) -> str:
    """Say which set points were driven to, at each rotor's speed."""
    if not driven:
        return ""
    rows = "".join(_set_point(item, as_printed(unit.text)) for item in driven)
    head = "<tr><th>set point</th><th>at</th><th>level</th><th>driven to</th><th></th></tr>"
    return f"<h3>Set points</h3><table>{head}{rows}</table>"


def _set_point(item: DrivenSetPoint, unit: str) -> str:
    reached = item.highest is not None and item.highest >= REACHED * item.level
    there = "–" if item.highest is None else f"{number(item.highest, digits=4)} {unit}"
    word = "<span class='good'>✓ driven to</span>" if reached else "<span class='doubt'>… not driven to</span>"
    at = f"{item.rotor}, {item.frequency_hz:.5g} Hz" if item.rotor else f"{item.frequency_hz:.5g} Hz"
    return (
        f"<tr><td>{escape(item.set_point)}</td><td>{escape(at)}</td><td class='n'>{number(item.level)} {unit}</td>"
        f"<td class='n'>{there}</td><td>{word}</td></tr>"
    )


def last_html(checks: Sequence[LastCheck]) -> str:
    """Say what the last check at the reference frequency shows, or that it is still to be taken."""
    lines = []
    for check in checks:
        where = f"{spoken(check.first.test)}, {check.first.frequency_hz:.5g} Hz"
        if check.last is None or check.moved_pct is None:
            lines.append(f"{where}: read once; read it again before packing up, to see whether the set-up moved")
        else:
            rows = f"rows {check.first.row} and {check.last.row}"
            lines.append(f"{where}: moved by {percent(check.moved_pct)} from the first to the last reading ({rows})")
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<h3>Last check at the reference frequency</h3><ul>{items}</ul>" if lines else ""


def gains_html(gains: Sequence[tuple[str, str, float, float]]) -> str:
    """Say what further readings would add: readings, fault, the chance that it is found without and with them."""
    if not gains:
        return ""
    rows = "".join(
        f"<tr><td>{escape(what)}</td><td>{escape(fault)}</td><td class='n'>{100.0 * before:.0f} %</td>"
        f"<td class='n'>{100.0 * after:.0f} %</td></tr>"
        for what, fault, before, after in gains
    )
    head = "<tr><th>readings</th><th>fault</th><th>found without</th><th>with</th></tr>"
    return f"<h3>What further readings would add</h3><table>{head}{rows}</table>"
