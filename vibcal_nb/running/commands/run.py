"""`run`: make the records of the folders' visits."""

from __future__ import annotations

import argparse
import os
import sys
import time
import warnings
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from vibcal_nb.display.writing.names import plural
from vibcal_nb.model.names import DRIFT
from vibcal_nb.problems import Refused, in_words
from vibcal_nb.running.commands.attention import say_attention, say_returned
from vibcal_nb.running.commands.check import pending_sentence, planned_words
from vibcal_nb.running.commands.desk.team import enter_into_team_register
from vibcal_nb.running.commands.exit_status import ExitStatus
from vibcal_nb.running.commands.terminal import program, say

if TYPE_CHECKING:
    from vibcal_nb.model.visit_folder import VisitFolder
    from vibcal_nb.running.fleet.make_record import Outcome
    from vibcal_nb.running.fleet.plan import Plan
    from vibcal_nb.running.fleet.run import Made


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("folders", nargs="+", metavar="FOLDER", type=Path, help="a visit, an asset or a site")
    parser.add_argument("--out", type=Path, default=Path("records"), help="where the records go (default: records)")
    parser.add_argument("--channel", action="append", default=[], metavar="TAG", help="only this channel (repeatable)")
    parser.add_argument(
        "--analysis", action="append", default=[], metavar="NAME", help="only this analysis (repeatable)"
    )
    parser.add_argument("--latest", action="store_true", help="of each asset, only its latest visit")
    parser.add_argument("--workers", type=_positive, default=os.cpu_count() or 1, metavar="N", help="records at a time")
    parser.add_argument("--scheduler", metavar="ADDRESS", help="make the records on the Dask cluster of this scheduler")
    for name, what in (("ca", "authority"), ("cert", "certificate"), ("key", "key")):
        parser.add_argument(f"--tls-{name}", metavar="FILE", type=Path, help=f"with --scheduler: the TLS {what}, PEM")
    parser.add_argument("--no-pdf", action="store_true", help="leave out the channels' sheets (PDF)")
    parser.add_argument("--fresh", action="store_true", help="make records again that are up to date")
    parser.add_argument(
        "--supersede-signed", action="store_true", help="make new revisions of records that were signed off, too"
    )
    parser.add_argument(
        "--witness", metavar="FILE", type=Path, help="a hash chain kept elsewhere, or its folder: every seal is entered"
    )
    parser.add_argument(
        "--register", metavar="ADDRESS", help="a register for teams, too: postgresql://USER@HOST/DATABASE"
    )
    parser.add_argument("--register-site", metavar="NAME", help="the site's name there (default: its folder's name)")
    parser.add_argument(
        "--notebooks", metavar="FOLDER", type=Path, help="notebooks other than the package's own; every record says so"
    )


def _positive(text: str) -> int:
    value = int(text)
    if value < 1:
        raise argparse.ArgumentTypeError(f"{value} is not 1 or more")
    return value


def execute(arguments: argparse.Namespace) -> ExitStatus:
    """Validate everything, then make the records. Input problems refuse the whole run before anything is written."""
    from vibcal_nb.inputs.load_visits import find_visits, load_visits
    from vibcal_nb.metrology.conformity.decision import PASSING
    from vibcal_nb.records.analyses import ANALYSES
    from vibcal_nb.records.files.whole_files import remove_stale_partials
    from vibcal_nb.records.witness.chain import witness_path
    from vibcal_nb.records.witness.entries import refuse_other_witness
    from vibcal_nb.running.fleet.plan import latest_visits, named_visits, plan_records
    from vibcal_nb.running.fleet.standard_notebooks import find_notebooks

    started = time.monotonic()
    refusal = _refusal(arguments)
    if refusal is not None:
        print(refusal, file=sys.stderr)
        return ExitStatus.REFUSED
    paths = [path for folder in arguments.folders for path in find_visits(folder)]
    loaded = load_visits(named_visits(paths))
    visits = [visit for visit in loaded if not visit.is_planned]
    if arguments.latest:
        visits = latest_visits(visits)
    for visit in loaded:
        if visit.is_planned:
            print(f"{visit.asset.tag} {visit.path.name}: {planned_words(visit)}.")
        elif visit in visits and visit.table.open:
            print(f"{visit.asset.tag} {visit.path.name}, {pending_sentence(visit.table)}")
    known = [tag for visit in visits for tag in (*visit.asset.channels, *visit.asset.groups)]
    if not (_known("channel", arguments.channel, known) and _known("analysis", arguments.analysis, ANALYSES)):
        return ExitStatus.REFUSED
    plan = plan_records(
        visits,
        out=arguments.out,
        notebooks=arguments.notebooks or find_notebooks(),
        channels=arguments.channel,
        analyses=arguments.analysis,
    )
    leading_out = _links_out(plan, arguments.out)
    if leading_out:
        print("\n".join(leading_out), file=sys.stderr)
        return ExitStatus.REFUSED
    if arguments.witness is not None:
        refuse_other_witness(arguments.out, witness_path(arguments.witness))
    remove_stale_partials({job.case.results_folder for _, jobs in plan.jobs for job in jobs})
    plan, held = _announce_signed(plan, arguments)
    made = _make(plan, arguments)
    outcomes, files = made.outcomes, made.files
    failures = [*held, *plan.impossible, *(outcome.failure for outcome in outcomes if outcome.failure), *made.problems]
    failures += _keep_tags(plan, arguments.out)
    if not arguments.no_pdf:
        failures += _make_sheets(arguments.out, files, arguments.workers)
    failures += _enter_into_witness(arguments)
    failures += _software_changed()
    failures += enter_into_team_register(arguments, visits)
    say_attention(outcomes)
    say_returned(outcomes)
    for sentence in failures:
        print(sentence, file=sys.stderr)
    verdicts = Counter(outcome.result["verdict"] for outcome in outcomes if outcome.result is not None)
    _summarise(verdicts, outcomes, len(failures), time.monotonic() - started)
    if files:
        say(f"Next: {program()} overview {arguments.out.as_posix()}   (the site on one page)")
    if failures:
        return ExitStatus.NOT_DONE
    return ExitStatus.DONE if not set(verdicts) - set(PASSING) else ExitStatus.NOT_ALL_PASS


def _software_changed() -> list[str]:
    from vibcal_nb.running.fleet.stamp import is_package_changed

    said = "The software was changed while the run was under way: records may be of either; run --fresh."
    return [said] if is_package_changed() else []


def _refusal(arguments: argparse.Namespace) -> str | None:
    """Say what is wrong with options; say loudly which notebooks are not the package's own."""
    from vibcal_nb.running.fleet.standard_notebooks import find_notebooks, list_changed

    tls = [arguments.tls_ca, arguments.tls_cert, arguments.tls_key]
    if any(tls) and not arguments.scheduler:
        return "TLS certificates are for the cluster of a scheduler: give --scheduler too."
    if arguments.register is not None and not arguments.register.startswith("postgresql://"):
        return "A register for teams is a database: give --register postgresql://USER@HOST/DATABASE."
    if arguments.witness is not None:
        refusal = _witness_refusal(arguments.witness, arguments.out)
        if refusal is not None:
            return refusal
    try:
        changed = list_changed(arguments.notebooks or find_notebooks())
    except (OSError, ValueError) as error:
        return in_words(error)
    if changed and arguments.notebooks is None:
        return (
            f"Changed since the package was made: {', '.join(changed)}. Records are made with the package's own "
            "notebooks: save an exploration as a copy, and put the notebook back as it was (git checkout notebooks); "
            "or give --notebooks FOLDER to make records with it, which will say so."
        )
    if changed:
        print(f"WARNING: not the package's own notebooks: {', '.join(changed)}. Every record says so.", file=sys.stderr)
    return None


def _witness_refusal(witness: Path, out: Path) -> str | None:
    from vibcal_nb.records.witness.chain import witness_path

    folder = witness_path(witness).parent
    if not folder.is_dir():
        return f"{folder.as_posix()}: no such folder; make it where the witness is to be kept, on another drive."
    if folder.resolve().is_relative_to(out.resolve()):
        return f"{witness.as_posix()}: the witness would lie among the records, and fall with them; keep it elsewhere."
    return None


def _enter_into_witness(arguments: argparse.Namespace) -> list[str]:
    """Enter what the register holds; say how far the witness has come, and in sentences what could not be done."""
    from vibcal_nb.records.register.register import register_path
    from vibcal_nb.records.witness.chain import witness_path
    from vibcal_nb.records.witness.entries import enter_register

    if arguments.witness is None or not register_path(arguments.out).is_file():
        return []
    path = witness_path(arguments.witness)
    try:
        chain, new = enter_register(arguments.out, path)
    except (Refused, OSError) as error:
        return [f"The records are made, and are not in the witness. {in_words(error)}"]
    print(f"Witness {path.as_posix()}: {new} entered, {chain.standing}. Write this down elsewhere.")
    return []


def _announce_signed(plan: Plan, arguments: argparse.Namespace) -> tuple[Plan, list[str]]:
    """Say which signed records would be superseded; return the plan without them, unless that is asked for."""
    from vibcal_nb.running.fleet.held_back import signed_and_stale

    stale = signed_and_stale(plan, fresh=arguments.fresh)
    if arguments.supersede_signed:
        for item in stale:
            print(f"To be superseded: {item.sentence}", flush=True)
        return plan, []
    held = [f"{item.sentence}. It stays as it is; give --supersede-signed to make a new revision." for item in stale]
    return plan.without([item.job for item in stale]), held


def _keep_tags(plan: Plan, out: Path) -> list[str]:
    """Put beside each asset's records which tags changed and what was retired, as its file states it today."""
    from vibcal_nb.inputs.load_asset import load_dated_asset
    from vibcal_nb.problems import InputRefused, in_words
    from vibcal_nb.records.files.places import path_name
    from vibcal_nb.records.register.tags import write_tags

    failures = []
    for home in dict.fromkeys(visit.path.absolute().parent for visit, jobs in plan.jobs if jobs):
        try:
            asset = load_dated_asset(home)
            write_tags(out / path_name(asset.tag), asset)
        except (OSError, InputRefused) as error:  # it was read a moment ago
            failures.append(f"{home.name}: the overview will not know its older tags. {in_words(error)}")
    return failures


def _links_out(plan: Plan, out: Path) -> list[str]:
    """Say which folders that records would go to are links out of the output folder; nothing is written through one."""
    root = out.resolve()
    folders = {job.case.record.parent for _, jobs in plan.jobs for job in jobs}
    return [
        f"{folder.as_posix()}: a link leads out of the output folder; remove it, or give another folder by --out."
        for folder in sorted(folders)
        if not folder.resolve().is_relative_to(root)
    ]


def _make(plan: Plan, arguments: argparse.Namespace) -> Made:
    """Make the records here or on a cluster, with a display of how it goes where somebody looks at it."""
    from tqdm import tqdm

    from vibcal_nb.running.fleet.executors import open_executor, record_maker
    from vibcal_nb.running.fleet.make_record import Making
    from vibcal_nb.running.fleet.run import make_records

    warnings.simplefilter("ignore")  # of the libraries that execute notebooks, in many threads: not a person's matter
    total = sum(len(jobs) for _, jobs in plan.jobs)
    if total:
        visits = sum(bool(jobs) for _, jobs in plan.jobs)
        say(f"Making {plural(total, 'record')} of {plural(visits, 'visit')} in {arguments.out.as_posix()} ...")
    with (
        open_executor(
            workers=arguments.workers,
            scheduler=arguments.scheduler,
            tls={"ca": arguments.tls_ca, "cert": arguments.tls_cert, "key": arguments.tls_key},
        ) as executor,
        tqdm(total=total, unit="record", file=sys.stderr, disable=None) as bar,
    ):
        return make_records(
            plan,
            executor,
            making=Making(fresh=arguments.fresh, supersede_signed=arguments.supersede_signed),
            make=record_maker(arguments.scheduler),
            on_outcome=lambda _: bar.update(),
            on_visit=_say_visit,
        )


def _say_visit(visit: VisitFolder, outcomes: list[Outcome]) -> None:
    """Say what became of a visit, once its records and its results are there."""
    from tqdm import tqdm

    results = [outcome for outcome in outcomes if outcome.result is not None]
    skipped = sum(outcome.skipped for outcome in results)
    counts = _counted(_without_drift(results)) or "no verdict"
    made = len(results) - skipped
    what = ", ".join(filter(None, [f"{made} made" if made else "", f"{skipped} up to date" if skipped else ""]))
    with tqdm.external_write_mode(file=sys.stdout):
        where = (outcomes[0].case.results_folder / "results.json").as_posix()
        say(f"  {visit.asset.tag} {visit.path.name}: {what}; {counts}  ({where})")


def _without_drift(outcomes: list[Outcome]) -> Counter[str]:
    """Count verdicts of tests and channels: a drift follows from the visits, and stands in no channel's way."""
    return Counter(o.result["verdict"] for o in outcomes if o.result is not None and o.case.analysis != DRIFT)


def _make_sheets(out: Path, files: list[Path], workers: int) -> list[str]:
    """Make the sheets that are due of the visits whose results were written, and enter them into the register."""
    from vibcal_nb.records.report.visit_reports import list_due_sheets, make_sheets
    from vibcal_nb.running.fleet.registering import register_reports, registered_reports

    made = registered_reports(out)
    due = [job for file in files for job in list_due_sheets(file.parent, made)]
    failures = make_sheets(due, workers=workers)
    return [*failures, *register_reports(out, [job.path for job in due])]


def _known(kind: str, asked: list[str], known: object) -> bool:
    names = list(dict.fromkeys(known))  # type: ignore[call-overload]
    for name in asked:
        if name not in names:
            print(f"There is no {kind} '{name}'; known are {', '.join(names)}.", file=sys.stderr)
            return False
    return True


def _counted(verdicts: Counter[str]) -> str:
    return ", ".join(f"{count} {word}" for word, count in sorted(verdicts.items()))


def _summarise(verdicts: Counter[str], outcomes: list[Outcome], failed: int, seconds: float) -> None:
    skipped = sum(outcome.skipped for outcome in outcomes)
    made = sum(verdicts.values()) - skipped
    apart = _without_drift(outcomes)
    counts = _counted(apart) or "no verdict"
    if verdicts - apart:
        counts += f"; drift: {_counted(verdicts - apart)}"
    say("")
    say(f"{plural(made, 'record')} made, {skipped} up to date, {failed} not done, in {seconds:.0f} s: {counts}.")
