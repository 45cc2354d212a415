"""What the notebook at the shaker calls: open a visit, show what is planned, and the screen where a person is there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.entry.steps import open_steps
from vibcal_nb.display.entry.hand_over import hand_over_html
from vibcal_nb.display.entry.step_words import step_name
from vibcal_nb.display.planning.plan_plots import plan_picture
from vibcal_nb.display.writing.names import spoken
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.model.names import AS_FOUND
from vibcal_nb.notebook.frame.interactive import is_interactive
from vibcal_nb.notebook.frame.parameters import check_parameters, require_text
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.notebook.shaker.visit import ShakerVisit
from vibcal_nb.notebook.show import show
from vibcal_nb.problems import NotDone, ParameterError, one_of, shown
from vibcal_nb.records.entry.open_table import PREPARED, needs_converting, put_into_csv

PARAMETERS = ("visit_folder", "channels", "shaker", "recordings", "workbook_into_csv")


@dataclass(frozen=True, kw_only=True)
class Opened:
    """A visit that is open at the shaker, and the folder that is watched for recordings, None for none."""

    visit: ShakerVisit
    recordings: Path | None


def open_visit(
    namespace: Mapping[str, Any],
    *,
    visit_folder: str,
    channels: str,
    shaker: str,
    recordings: str,
    workbook_into_csv: bool,
) -> Opened:
    """Open the visit that a notebook's parameters name; nothing is written unless a person is at the notebook.

    Raises ``ParameterError``, ``InputRefused``, ``NotDone``, shown as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, PARAMETERS)
    path = Path(require_text("visit_folder", visit_folder)).absolute()
    is_kept = is_interactive()
    if is_kept:
        _without_workbook(path, convert=workbook_into_csv)
    tags = tuple(tag.strip() for tag in channels.split(",") if tag.strip())
    visit = ShakerVisit(path, channels=tags, shaker=shaker, is_kept=is_kept)
    known = visit.base.asset.channels
    for tag in tags:
        if tag not in known:
            raise ParameterError(f"There is no channel {shown(tag)}; {one_of(tag, known)}.")
    ids = [item.id for item in visit.base.equipment.shakers]
    if shaker and shaker not in ids:
        raise ParameterError(f"There is no shaker {shown(shaker)}; {one_of(shaker, ids)}.")
    folder = Path(recordings).absolute() if recordings else None
    if folder is not None and not folder.is_dir():
        raise ParameterError(f"The parameter recordings names {shown(recordings)}, which is no folder.")
    return Opened(visit=visit, recordings=folder)


def _without_workbook(path: Path, *, convert: bool) -> None:
    workbook = needs_converting(path)
    if workbook is None:
        return
    if not convert:
        raise NotDone(
            f"{workbook.name} is a workbook, into which no reading goes in time. Set workbook_into_csv = True: its "
            f"table goes into readings.csv, and the workbook stays beside it as {workbook.stem}.{PREPARED}"
            f"{workbook.suffix}."
        )
    put_into_csv(workbook)


def show_screen(opened: Opened) -> None:
    """Show the screen; in a record, one line in its place."""
    text = "The screen appears here when the notebook is opened and run; readings go into the table."
    show.widget(lambda: _screen(opened), otherwise=text)


def _screen(opened: Opened) -> Any:
    from vibcal_nb.notebook.shaker.screen import Screen
    from vibcal_nb.notebook.shaker.session import Session

    opened.visit.warm_up(AS_FOUND)
    if opened.recordings is not None:
        import_module("scipy.io.wavfile")  # slow to import, and the first recording is not to wait for it
    return Screen(Session(opened.visit), recordings=opened.recordings).widget


def show_planned(opened: Opened) -> None:
    """Show what is still to be read as found, channel by channel, and what the shaker reaches with the first one."""
    visit = opened.visit
    steps = open_steps(visit.steps(AS_FOUND), visit.readings)
    rows = []
    for tag in visit.channels:
        own = [step for step in steps if step.channel == tag]
        tests = dict.fromkeys(step.test for step in own)
        counts = ", ".join(f"{spoken(test)} {sum(step.test == test for step in own)}" for test in tests)
        first = f"{spoken(own[0].test)}, {step_name(own[0])}" if own else "nothing is left"
        rows.append(Row(cells=(tag, str(len(own)), counts or "–", first)))
    headings = ("channel", "left", "of which", "next")
    show.table(Table(caption="To be read as found", headings=headings, rows=tuple(rows), text_columns=(0, 2, 3)))
    plans = [plan for plan in visit.plans(AS_FOUND) if plan.points]
    if plans:
        show.picture(plan_picture(plans[0]))


def show_hand_over(opened: Opened) -> None:
    """Show the visit as its files stand, on one page."""
    visit = opened.visit
    read = dict.fromkeys((reading.channel, reading.condition) for reading in visit.readings)
    wanted = {**dict.fromkeys((tag, AS_FOUND) for tag in visit.channels), **read}
    standings = [visit.coming_off(tag, condition) for tag, condition in wanted if tag in visit.channels]
    page = hand_over_html(visit.folder, standings, file=visit.folder.table.file)
    show.html(page, "\n".join(f"{item.channel} {item.condition}: {item.state}" for item in standings))
