"""What the notebook for old tables calls: open a file by a layout, show what it makes out, bring it into a visit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.grids.read_grids import read_grids
from vibcal_nb.inputs.layout.read_layout import read_layout_file
from vibcal_nb.inputs.load_asset import load_asset_folder, load_visit_file
from vibcal_nb.inputs.propose.propose import propose_layout
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.layout import Layout
from vibcal_nb.notebook.frame.parameters import check_parameters, require_text
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.notebook.show import show, show_old_tables
from vibcal_nb.problems import InputRefused, ParameterError, Problem
from vibcal_nb.records.old_tables.bring import Brought, bring
from vibcal_nb.records.old_tables.write_brought import write_brought


@dataclass(frozen=True, kw_only=True)
class OldTable:
    """A file with the layout that it is read by, and what that makes of it.

    ``reasons`` and ``open`` are those of a proposal; both are empty where the layout was given. ``layout_name`` names
    the layout in what is written.
    """

    path: Path
    visit: Path
    day: date | None
    asset: Asset
    layout: Layout
    layout_name: str
    reasons: tuple[str, ...]
    open: tuple[str, ...]
    brought: Brought


def open_old_table(namespace: Mapping[str, Any], *, table_file: str, visit_folder: str, layout_file: str) -> OldTable:
    """Read a file by a layout; without one, by the layout that is proposed for it.

    Raises ``ParameterError``, ``InputRefused`` with every problem, shown as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, ("table_file", "visit_folder", "layout_file", "write_readings"))
    path, visit = Path(require_text("table_file", table_file)), Path(require_text("visit_folder", visit_folder))
    if not isinstance(layout_file, str):
        raise ParameterError(
            f"The parameter layout_file is {layout_file!r}; give a text in quotes, empty for a proposal."
        )
    day = _day_of(visit)
    asset = load_asset_folder(visit.absolute().parent, day=day or date.max).asset
    reasons: tuple[str, ...] = ()
    open_: tuple[str, ...] = ()
    problems: list[Problem] = []
    if layout_file:
        layout = read_layout_file(Path(layout_file), problems)
    else:
        grids = read_grids(path, problems)
        proposal = None if grids is None else propose_layout(path, grids, tags=list(asset.channels))
        if grids is not None and proposal is None:
            found, remedy = "no table, a row of headings with numbers below", "state it in a layout file"
            problems.append(Problem(file=path.name, found=found, remedy=remedy))
        layout = None if proposal is None else proposal.layout
        if proposal is not None:
            reasons, open_ = proposal.reasons, proposal.open
    if layout is None or problems:
        raise InputRefused(problems)
    return OldTable(
        path=path,
        visit=visit,
        day=day,
        asset=asset,
        layout=layout,
        layout_name=Path(layout_file).name if layout_file else "proposed",
        reasons=reasons,
        open=open_,
        brought=bring([path], layout, asset=asset, day=day),
    )


def _day_of(visit: Path) -> date | None:
    if (visit / "visit.toml").exists():
        return load_visit_file(visit).date
    try:
        return date.fromisoformat(visit.name)
    except ValueError:
        return None


def show_understood(old: OldTable) -> None:
    """Show why the layout is as it is, and what is open."""
    if old.reasons:
        show.listed("Made out", old.reasons)
    still = [*old.open, *(problem.sentence.rstrip(".") for problem in old.brought.problems)]
    show.listed("To be stated or mended before anything is written", tuple(still or ["nothing"]))


def show_original(old: OldTable) -> None:
    """Show the first sheet, cell for cell, and what is left out of the readings."""
    show_old_tables.show_original(old.brought)
    show_old_tables.show_left_out(old.brought)


def show_readings(old: OldTable) -> None:
    """Show the readings, how what the table states agrees, and what is asked."""
    show_old_tables.show_brought(old.brought)
    compared = old.brought.compared
    if compared is not None and compared.count:
        show.sentence(f"Of {compared.count} values that the table states itself, {compared.agree} agree.")
    asked = tuple(question.sentence for question in old.brought.questions)
    show.listed("Questions", asked or ("none",))
    show.picture(show_old_tables.deviations_picture(old.brought, old.asset))


def write_readings_of(old: OldTable, *, write_readings: bool) -> None:
    """Write the visit's reading table where that is asked for, and say what was done."""
    if not isinstance(write_readings, bool):
        raise ParameterError(f"The parameter write_readings is {write_readings!r}; give True or False.")
    count = len(old.brought.readings)
    if not write_readings:
        show.sentence(f"{count} readings are ready; set write_readings to True to write them into the visit's folder.")
        return
    path = write_brought(old.visit, old.brought, asset=old.asset, layout=old.layout_name)
    show.sentence(f"{count} readings were written to {path.name}.")
