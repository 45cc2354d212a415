"""`overview`: the site on one page, from the register of a records folder."""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path

from vibcal_nb.problems import on_one_line
from vibcal_nb.running.commands.exit_status import ExitStatus


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("records", metavar="RECORDS", type=Path, help="a records folder, as run makes it")
    parser.add_argument("--on", metavar="DATE", help="look at the site as on this day (default: today)")
    parser.add_argument("--interval", type=float, default=13.0, metavar="MONTHS", help="overdue after (default: 13)")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the matrix as CSV, too")
    parser.add_argument("--xlsx", type=Path, metavar="FILE", help="write the matrix as a workbook, too")
    parser.add_argument("--rebuild", action="store_true", help="make the register anew from the records first")


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Check the register (or make it), run the overview notebook, and write what was asked for."""
    from vibcal_nb.display.site.site_tables import site_sentence
    from vibcal_nb.metrology.conformity.decision import PASSING
    from vibcal_nb.notebook.site import overview_of_folder, read_day
    from vibcal_nb.problems import ParameterError
    from vibcal_nb.records.files.whole_files import remove_stale_partials
    from vibcal_nb.records.register.register import RegisterUnusable, has_register, register_path
    from vibcal_nb.records.register.site_export import write_csv, write_xlsx
    from vibcal_nb.running.fleet.site_page import write_site_page

    records: Path = arguments.records
    if not records.is_dir():
        print(f"{records.as_posix()}: no such folder; give a records folder, as run makes it.", file=sys.stderr)
        return ExitStatus.REFUSED
    if not has_register(register_path(records)) and not any(records.glob("*/*/**/*.ipynb")):
        said = (
            "there are no records here; make them with the command run, and give the folder that they are in (--out)."
        )
        print(f"{records.as_posix()}: {said}", file=sys.stderr)
        return ExitStatus.REFUSED
    remove_stale_partials([records])
    try:
        on = date.today() if arguments.on is None else read_day(arguments.on)
        whole = _ready_register(records, rebuild=arguments.rebuild)
        overview = overview_of_folder(records, on=on, interval_months=arguments.interval)
    except (ParameterError, RegisterUnusable) as error:
        print(error, file=sys.stderr)
        return ExitStatus.REFUSED
    if arguments.csv:
        write_csv(overview, arguments.csv)
    if arguments.xlsx:
        write_xlsx(overview, arguments.xlsx, records=records)
    failure = write_site_page(records, on=on, interval_months=arguments.interval)
    if failure is not None:
        print(failure, file=sys.stderr)
        return ExitStatus.NOT_DONE
    print(f"{site_sentence(overview)}.")
    for path in (records / "site_overview.html", arguments.csv, arguments.xlsx):
        if path is not None:
            print(f"  {path.as_posix()}")
    for sentence in returned_lines(records):
        print(on_one_line(sentence))
    good = all(state.verdict in PASSING for state in overview.channels)
    return ExitStatus.NOT_DONE if not whole else ExitStatus.DONE if good else ExitStatus.NOT_ALL_PASS


def returned_lines(records: Path) -> list[str]:
    """Name the records that a reviewer returned and that no other revision has replaced."""
    from vibcal_nb.records.register.returned_records import returned_records

    return [f"  returned by {said}: {place}" for place, said in returned_records(records)]


def _ready_register(records: Path, *, rebuild: bool) -> bool:
    """Make the register where there is none or where it is asked for; return whether its chain is whole."""
    from vibcal_nb.records.register.rebuild import rebuild_register
    from vibcal_nb.records.register.register import check_chain, has_register, register_path

    path = register_path(records)
    if rebuild or not has_register(path):
        rebuilt = rebuild_register(records)
        print(f"Register made from {rebuilt.rows} records.")
        for sentence in (*rebuilt.unusable, *rebuilt.lost):
            print(sentence, file=sys.stderr)
        if rebuilt.aside is not None:
            print(f"The register before it is kept: {rebuilt.aside.as_posix()}")
    problems = check_chain(path)
    for problem in problems:
        print(f"{path.as_posix()}: {problem.sentence}", file=sys.stderr)
    if problems:
        print("Compare with the records (verify), then make the register anew with --rebuild.", file=sys.stderr)
    return not problems
