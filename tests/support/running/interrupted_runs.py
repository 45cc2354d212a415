"""`run` stopped at any operation on the disk, run again, and what has to hold then."""

from __future__ import annotations

import io
import shutil
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import nbformat

from tests.support.kept.performed import remembered
from tests.support.running.kill_points import Disk, Stopped, disk_that_stops
from tests.support.sites.plants import build_site, linearity_rows
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.records.inputs_used.record_inputs import state_test
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.witness.chain import read_chain
from vibcal_nb.running.commands.cli import main
from vibcal_nb.running.fleet import make_record
from vibcal_nb.running.verify.verifier import Verifier
from vibcal_nb.running.verify.verify_files import list_files, verify_file
from vibcal_nb.running.verify.verify_witness import verify_witness

TAG = "STG-1-V11"
NAME = "linearity.as-found"
GAINS = (4.05, 4.06, 4.07)


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where all of it lies: the site, its records and their witness."""

    folder: Path

    @property
    def site(self) -> Path:
        return self.folder / "site"

    @property
    def records(self) -> Path:
        return self.folder / "records"

    @property
    def witness(self) -> Path:
        return self.folder / "elsewhere" / "witness.jsonl"

    @property
    def channel(self) -> Path:
        return self.records / "STG-1" / "2026-05-19" / TAG

    @property
    def record(self) -> Path:
        return self.channel / f"{NAME}.ipynb"


@contextmanager
def without_kernels() -> Iterator[None]:
    """Records are made of what their notebook gave once: what is looked at here is how they are put in their place."""

    def papermill(job: make_record.Job, output: Path, cell_seconds: int) -> tuple[Any, None]:
        visit = load_visit(Path(job.parameters["visit_folder"]))
        case = select_case(visit, channel=job.case.channel, test="linearity", condition="as-found")
        made = remembered(analysis="linearity", parameters=job.parameters, inputs=state_test(case))
        return nbformat.from_dict(made), None

    with patch.object(make_record, "_papermill", papermill):
        yield


def set_gain(place: Place, gain: float) -> None:
    """Put readings of a channel of that gain into the visit."""
    shutil.rmtree(place.site, ignore_errors=True)
    build_site(place.site, linearity_rows(gain=gain))


def run(place: Place, *options: str) -> int:
    """Run as a person would, with everything that a run can do; return its exit status."""
    place.witness.parent.mkdir(parents=True, exist_ok=True)
    words = ["run", str(place.site), "--out", str(place.records), "--analysis", "linearity", "--workers", "1"]
    words += ["--supersede-signed", "--witness", str(place.witness), *options]
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
        return main(words)


def sign(place: Place, key: Path | None) -> None:
    """Sign the record off."""
    words = ["verify", str(place.record), "--sign", "--name", "Engineer D", "--role", "reviewer"]
    with redirect_stdout(io.StringIO()):
        assert main([*words, *(["--key", str(key)] if key else [])]) == 0


def prepare(place: Place, *, revisions: int, key: Path | None) -> None:
    """Make records of so many revisions, each signed off, and put the readings of the next one into the visit."""
    for gain in GAINS[:revisions]:
        set_gain(place, gain)
        assert run(place) == 0
        sign(place, key)
        assert run(place) == 0  # the sign-off is entered into the witness
    set_gain(place, GAINS[revisions])


def stopped_run(place: Place, stop_at: int | None) -> Disk:
    """Run until the disk stops it."""
    with suppress(Stopped), disk_that_stops(place.folder, stop_at) as disk:
        run(place)
    make_record._stopping.clear()
    return disk


def lasting(place: Place) -> Counter[bytes]:
    """Every record, page, sign-off, signature and report that is there, by its bytes."""
    kinds = (".ipynb", ".html", ".json", ".sig", ".pdf")
    found = [path for path in place.channel.rglob("*") if path.suffix in kinds and not path.name.startswith(".")]
    return Counter(path.read_bytes() for path in found)


def broken(place: Place, before: Counter[bytes], *, revision: int) -> list[str]:
    """Say in words what is not as after a run that nobody stopped."""
    said = _unverified(place)
    now = lasting(place)
    said += [f"{len(data)} bytes are there {now[data]} times, and were {count}" for data, count in _lost(before, now)]
    check = check_seal(place.record.read_bytes()) if place.record.is_file() else None
    if check is None or check.seal is None or check.seal["revision"] != revision:
        said.append(f"the record is not revision {revision}")
    set_aside = [path.name for path in place.channel.glob("superseded/*.ipynb")]
    if len(set_aside) != revision - 1:
        said.append(f"superseded are {set_aside}")
    said += [f"{path.name} lies beside a record that nobody signed" for path in place.channel.glob(f"{NAME}.signoff-*")]
    said += [f"stray {path.relative_to(place.folder)}" for path in place.folder.rglob(".*")]
    names = {path.name for path in place.channel.iterdir() if path.is_file()}
    if names != {f"{NAME}.ipynb", f"{NAME}.html", f"{TAG}.pdf"}:
        said.append(f"beside the record lie {sorted(names)}")
    return said


def _lost(before: Counter[bytes], now: Counter[bytes]) -> list[tuple[bytes, int]]:
    return [(data, count) for data, count in before.items() if now[data] != count]


def _unverified(place: Place) -> list[str]:
    verifier = Verifier(witness=read_chain(place.witness))
    found = [verify_file(path, verifier) for path in list_files(place.records)]
    if verifier.witness is not None:
        found.append(verify_witness(verifier.witness, [place.records], verifier))
    return [f"{item.path.name}: {text}" for item in found for text in item.told()]
