"""The visit as it stands on one page, for the colleague who goes on: nothing that is not in its files."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from vibcal_nb.analysis.entry.coming_off import ComingOff
from vibcal_nb.display.entry.step_words import step_name
from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.display.writing.names import plural, spoken
from vibcal_nb.model.readings import Reading
from vibcal_nb.model.visit_folder import VisitFolder

MOST_LISTED = 12


def hand_over_html(folder: VisitFolder, standings: Sequence[ComingOff], *, file: str) -> str:
    """Return the page: who, with what, which protection is out, how each channel stands, what was struck through."""
    visit = folder.visit
    head = [
        f"{folder.asset.tag}, visit {folder.path.name}, performed by {visit.performed_by or 'nobody stated yet'}.",
        f"Equipment: {', '.join(visit.equipment) or 'none stated'}.",
        *([f"Ambient {visit.ambient_c:g} °C."] if visit.ambient_c is not None else []),
        *([visit.notes] if visit.notes else []),
    ]
    rows = "".join(_channel(item) for item in standings)
    heads = "<tr><th>channel</th><th>condition</th><th>may it come off</th><th>tests</th><th>next</th></tr>"
    return (
        f"<h2>Hand-over</h2>{_inhibited(folder)}{_list('', head)}<table>{heads}{rows}</table>"
        f"{_list('Struck through', _struck(folder.table.readings))}{_list('Remarks', _remarks(folder.table.readings))}"
        f"<p class='small'>All of this stands in {escape(file)}, visit.toml and the asset's files.</p>"
    )


def _inhibited(folder: VisitFolder) -> str:
    trail = folder.visit.trail
    if trail.inhibit is None:
        return ""
    if trail.open_since is None:
        return "<p>What was inhibited is stated as proved back in service.</p>"
    inhibit = trail.inhibit
    return (
        f"<p class='caution'><b>Caution.</b> {escape(', '.join(inhibit.channels))} inhibited since "
        f"{escape(inhibit.off)} under permit {escape(inhibit.permit)} by {escape(inhibit.by)}; told: "
        f"{escape(', '.join(inhibit.told))}. Not proved back in service yet: these channels do not protect.</p>"
    )


def _channel(item: ComingOff) -> str:
    tests = "<br>".join(
        f"{spoken(test.test)}: {chip_html(test.verdict) if test.verdict else 'not judged yet'} "
        f"({test.read} read, {len(test.missing)} left)"
        for test in item.tests
    )
    following = item.missing[0] if item.missing else None
    then = f"{spoken(following.test)}, {step_name(following)}" if following is not None else "nothing is left"
    return (
        f"<tr><td>{escape(item.channel)}</td><td>{spoken(item.condition)}</td><td>{escape(item.state)}</td>"
        f"<td>{tests}</td><td>{escape(then)}</td></tr>"
    )


def _struck(readings: Sequence[Reading]) -> list[str]:
    found = [f"row {r.row}, {r.channel}: {r.exclude}" for r in readings if r.exclude is not None]
    return _most(found, "row")


def _remarks(readings: Sequence[Reading]) -> list[str]:
    return _most([f"row {r.row}, {r.channel}: {r.note}" for r in readings if r.note], "remark")


def _most(lines: list[str], noun: str) -> list[str]:
    more = len(lines) - MOST_LISTED
    return [*lines[-MOST_LISTED:], *([f"and {plural(more, noun)} before these"] if more > 0 else [])]


def _list(title: str, lines: Sequence[str]) -> str:
    head = f"<h3>{escape(title)}</h3>" if title and lines else ""
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"{head}<ul>{items}</ul>" if lines else ""
