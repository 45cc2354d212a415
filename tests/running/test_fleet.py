"""Many records: what goes wrong with one stops no other, and whatever interrupts a run, the next one completes it."""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

import nbformat
import pytest

from tests.support.kept.same_record import timeless
from tests.support.places import ROOT
from tests.support.sites.plants import VISIT as VISIT_TEXT
from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.inputs.load_visits import load_visits
from vibcal_nb.records.files import folder_lock
from vibcal_nb.records.files import whole_files as atomic
from vibcal_nb.records.files.whole_files import partial_path, remove_stale_partials
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.running.fleet.executors import NoCluster, make_record_on_worker, open_executor
from vibcal_nb.running.fleet.make_record import Making, Outcome, make_record
from vibcal_nb.running.fleet.plan import latest_visits, plan_records
from vibcal_nb.running.fleet.run import make_records
from vibcal_nb.running.kernels import template_client as template_process

VISIT = ROOT / "data_demo" / "STG-1" / "2026-05-19"
CHANNELS = ("STG-1-V11", "STG-1-V12")
pytestmark = pytest.mark.filterwarnings("default")  # what jupyter_client and ipykernel warn of is not ours
posix_only = pytest.mark.skipif(sys.platform == "win32", reason="POSIX signals")


def plan(out, *, notebooks=ROOT / "notebooks", channels=CHANNELS):
    visits = load_visits([VISIT])
    return plan_records(visits, out=out, notebooks=notebooks, channels=channels, analyses=["linearity"])


def notebooks_with(tmp_path, source):
    """The standard notebooks, of which linearity runs one more cell after its parameters."""
    folder = tmp_path / "notebooks"
    shutil.copytree(ROOT / "notebooks", folder)
    path = folder / "linearity.ipynb"
    notebook = nbformat.read(path, as_version=4)
    (place,) = [i for i, cell in enumerate(notebook.cells) if cell.id == "parameters"]
    notebook.cells.insert(place + 1, nbformat.v4.new_code_cell(source))
    nbformat.write(notebook, path)
    return folder


def strays(folder):
    return [p for p in folder.rglob("*") if p.name.startswith(".")]


def test_a_hung_kernel_is_stopped_and_reported(tmp_path):
    source = "import time; time.sleep(600 if channel == 'STG-1-V11' else 0)"
    work = plan(tmp_path / "out", notebooks=notebooks_with(tmp_path, source))
    jobs = {job.case.channel: job for _, jobs in work.jobs for job in jobs if job.case.condition == "as-found"}
    hung, well = (make_record(jobs[channel], Making(cell_seconds=20)) for channel in CHANNELS)
    assert hung.failure == (
        "STG-1 2026-05-19, STG-1-V11 linearity as-found: a cell ran longer than 20 s and was stopped"
    )
    assert well.failure is None
    assert well.result["verdict"]
    assert strays(tmp_path / "out") == []


def test_a_dead_kernel_is_reported_and_the_rest_goes_on(tmp_path):
    source = "import os; os._exit(1) if channel == 'STG-1-V11' else None"
    work = plan(tmp_path / "out", notebooks=notebooks_with(tmp_path, source))
    with ThreadPoolExecutor(2) as executor:
        made = make_records(work, executor)
    failures = {outcome.failure for outcome in made.outcomes if outcome.case.channel == "STG-1-V11"}
    assert all("the kernel died while a cell ran" in failure for failure in failures)
    assert {o.failure for o in made.outcomes if o.case.channel == "STG-1-V12"} == {None}
    (file,) = made.files
    entries = json.loads(file.read_text(encoding="utf-8"))["results"]
    assert {entry["channel"] for entry in entries} == {"STG-1-V12"}
    assert strays(tmp_path / "out") == []


def test_a_record_with_a_widget_is_refused(tmp_path):
    source = "import ipywidgets; display(ipywidgets.IntSlider())"
    work = plan(tmp_path / "out", notebooks=notebooks_with(tmp_path, source))
    assert "the record holds widgets" in make_record(work.jobs[0][1][0]).failure
    assert not list((tmp_path / "out").rglob("*as-found.ipynb"))


def test_where_no_process_can_be_forked_a_kernel_makes_the_same_record(tmp_path, monkeypatch):
    forked, ordinary = (plan(tmp_path / name).jobs[0][1][0] for name in ("forked", "ordinary"))
    assert make_record(forked).failure is None
    monkeypatch.setattr(template_process, "current_platform", lambda: "another")
    assert make_record(ordinary).failure is None
    assert timeless(ordinary.case.record) == timeless(forked.case.record)


def test_what_is_current_is_skipped_and_what_is_missing_is_made(tmp_path):
    work = plan(tmp_path / "out", channels=CHANNELS[:1])
    with ThreadPoolExecutor(2) as executor:
        first = make_records(work, executor)
        again = make_records(work, executor)
        first.outcomes[0].case.record.unlink()
        third = make_records(work, executor)
    assert not any(outcome.skipped for outcome in first.outcomes)
    assert all(outcome.skipped for outcome in again.outcomes)
    assert [o.skipped for o in third.outcomes].count(False) == 1


def test_a_full_disk_leaves_nothing_half_written_and_stops_the_run(tmp_path, monkeypatch):
    work = plan(tmp_path / "out")

    def full(descriptor):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patched, ThreadPoolExecutor(1) as executor:
        patched.setattr(atomic.os, "fsync", full)
        made = make_records(work, executor)
    assert made.outcomes[0].disk_full
    assert "No space left on device" in made.outcomes[0].failure
    assert any("The disk is full" in problem for problem in made.problems)
    assert [p for p in (tmp_path / "out").rglob("*") if p.is_file()] == []
    with ThreadPoolExecutor(2) as executor:
        assert not any(outcome.failure for outcome in make_records(work, executor).outcomes)


def test_what_a_worker_dies_of_is_reported(tmp_path):
    class Broken(ThreadPoolExecutor):
        def submit(self, *args, **kwargs):
            future = Future()
            future.set_exception(RuntimeError("the worker was lost three times"))
            return future

    made = make_records(plan(tmp_path), Broken())
    assert made.files == []
    assert all("a worker could not make it (the worker was lost" in o.failure for o in made.outcomes)


def test_results_are_kept_in_files_and_not_in_memory(tmp_path):
    def make(job, making):
        filling = {"statement": "s", "quantities": {"numbers": list(range(1000))}}
        result = {"channel": job.case.channel, "analysis": job.case.analysis, "condition": job.case.condition}
        job.case.record.parent.mkdir(parents=True, exist_ok=True)
        job.case.record.write_text("{}", encoding="utf-8")
        return Outcome(case=job.case, result={**result, "verdict": "pass", **filling}, seal="s")

    with ThreadPoolExecutor(1) as executor:
        made = make_records(plan(tmp_path), executor, make=make)
    short = {"verdict": "pass", "summary": {"date": None, "gates": None, "sentence": None, "next_step": None}}
    assert all(outcome.result == short for outcome in made.outcomes)
    (file,) = made.files
    assert all(len(e["quantities"]["numbers"]) == 1000 for e in json.loads(file.read_text(encoding="utf-8"))["results"])


@posix_only
def test_only_stale_partial_files_are_removed(tmp_path):
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    mine = partial_path(tmp_path / "a" / "record.ipynb")
    mine.parent.mkdir()
    dead = mine.with_name(mine.name.replace(f"-{os.getpid()}.", f"-{ended.pid}."))
    executed = dead.with_suffix(".partial.ipynb")
    elsewhere, long_ago = mine.with_name(".x.00000000-1.partial"), mine.with_name(".y.00000000-1.partial")
    for path in (mine, dead, executed, elsewhere, long_ago, mine.with_name("record.ipynb")):
        path.write_text("", encoding="utf-8")
    os.utime(long_ago, (0, 0))
    assert set(remove_stale_partials([tmp_path])) == {dead, executed, long_ago}
    assert sorted(p.name for p in mine.parent.iterdir()) == sorted([mine.name, elsewhere.name, "record.ipynb"])


def start_run(out, *, channels=CHANNELS):
    command = [sys.executable, "-m", "vibcal_nb", "run", str(VISIT), "--out", str(out), "--no-pdf", "--workers", "1"]
    names = [argument for channel in channels for argument in ("--channel", channel)]
    return subprocess.Popen(
        [*command, *names, "--analysis", "linearity"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )


def finish(run):
    said, complained = run.communicate(timeout=300)
    assert "Traceback" not in complained
    return run.returncode, said, complained


def check_complete(out, *, channels=CHANNELS):
    """Every record is there, sealed, once, in the results and in the register; and nothing else is."""
    (file,) = out.rglob("results.json")
    entries = json.loads(file.read_text(encoding="utf-8"))["results"]
    jobs = [job for _, jobs in plan(out, channels=channels).jobs for job in jobs]
    assert {e["record"] for e in entries} == {job.case.relative_record for job in jobs}
    assert len(entries) == len(jobs)
    assert all(check_seal(job.case.record.read_bytes()).intact for job in jobs)
    assert {p.name for p in out.rglob("*.ipynb")} == {job.case.record.name for job in jobs}
    assert strays(out) == []
    with sqlite3.connect(out / "register.sqlite") as register:
        assert register.execute("SELECT COUNT(*) FROM results").fetchone()[0] == len(jobs)
    register.close()


@posix_only
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGKILL])
def test_an_interrupted_run_is_completed_by_the_next(tmp_path, number):
    out, channels = tmp_path / "out", ()  # all of them, so that the run cannot be through before the signal comes
    run = start_run(out, channels=channels)
    while not list(out.rglob("*.html")) and run.poll() is None:
        time.sleep(0.02)
    run.send_signal(number)
    status, _, complained = finish(run)
    if number == signal.SIGINT:
        assert (status, strays(out)) == (3, [])
        assert complained == "Stopped; what was finished is kept, and the next run does the rest.\n"
    status, said, complained = finish(start_run(out, channels=channels))
    assert (status, complained) == (1, "")
    assert "0 up to date" not in said
    check_complete(out, channels=channels)


@posix_only
def test_four_runs_into_the_same_output_share_the_work(tmp_path):
    """Each record is made once, by one of them; every run ends when all are there."""
    runs = [start_run(tmp_path / "out", channels=()) for _ in range(4)]
    ended = [finish(run) for run in runs]
    assert [(status, complained) for status, _, complained in ended] == [(1, "")] * 4
    made = [int(re.search(r"(\d+) records? made", said)[1]) for _, said, _ in ended]
    current = [int(re.search(r"(\d+) up to date", said)[1]) for _, said, _ in ended]
    check_complete(tmp_path / "out", channels=())
    assert sum(made) == len(list((tmp_path / "out").rglob("*.ipynb")))
    assert {a + b for a, b in zip(made, current, strict=True)} == {sum(made)}


def test_a_drive_without_locks_gets_a_remedy(tmp_path, monkeypatch):
    def no_locks(descriptor, *, wait):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(folder_lock, "_lock_file", no_locks)
    (visit,) = plan(tmp_path / "out", channels=CHANNELS).jobs
    outcome = make_record(visit[1][0])
    assert "keeps no locks" in outcome.failure and "write the records to a drive of this machine" in outcome.failure
    assert list((tmp_path / "out").rglob("*.ipynb")) == []


def test_the_latest_visit_is_that_of_the_latest_day_whatever_its_folder_is_named(tmp_path):
    visit = VISIT_TEXT.replace("2026-05-19", "2027-05-19")
    later = build_site(tmp_path, linearity_rows(), visit=visit)
    later.rename(later.with_name("2025-01-01"))
    build_site(tmp_path, linearity_rows())
    (latest,) = latest_visits(load_visits(sorted((tmp_path / "STG-1").glob("2*"))))
    assert latest.path.name == "2025-01-01"


def test_a_cluster_that_is_not_there_is_a_sentence(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(NoCluster, match="needs Dask distributed; install it"), open_executor(workers=1, scheduler="x"):
        pass


def test_a_worker_elsewhere_checks_that_it_can_make_the_same_record(tmp_path, monkeypatch):
    (_, (job, *_)), *_ = plan(tmp_path).jobs
    other = type(job)(**{**vars(job), "stamp": {**job.stamp, "package_sha256": "0"}})
    assert "another version of this package" in make_record_on_worker(other, Making()).failure
    unseen = type(job)(**{**vars(job), "template": Path("nowhere.ipynb")})
    assert "does not see nowhere.ipynb" in make_record_on_worker(unseen, Making()).failure
