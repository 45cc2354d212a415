"""Where records are made: threads of this process, each with kernels of its own, or the workers of a Dask cluster."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from vibcal_nb.problems import NotDone
from vibcal_nb.running.fleet.make_record import Job, Making, Outcome, make_record, stop_records
from vibcal_nb.running.fleet.stamp import hash_package

# While one record is sealed and written to the disk, another one computes.
IN_FLIGHT = 2
_RETRIES = 2
_ANSWER_SECONDS = 30


class NoCluster(NotDone):
    """The cluster cannot be used; the text is one sentence that says what to do."""


@contextmanager
def open_executor(
    *, workers: int, scheduler: str | None = None, tls: Mapping[str, Path | None] | None = None
) -> Iterator[Executor]:
    """Open an executor of ``workers`` records at a time, or that of the cluster of a scheduler.

    ``tls`` holds the files in PEM by which both know each other: ``ca``, ``cert``, ``key``. Raises ``NoCluster``
    where there is no such cluster, or Dask is not installed.
    """
    if scheduler is not None:
        with _open_cluster(scheduler, tls or {}) as executor:
            yield executor
        return
    with ThreadPoolExecutor(max_workers=IN_FLIGHT * workers) as executor:
        try:
            yield executor
        except BaseException:
            stop_records()
            raise


@contextmanager
def _open_cluster(address: str, tls: Mapping[str, Path | None]) -> Iterator[Executor]:
    try:
        from distributed import Client
        from distributed.security import Security
    except ImportError:
        raise NoCluster('--scheduler needs Dask distributed; install it with pip install -e ".[cluster]".') from None
    files = {name: str(path) for name, path in tls.items() if path is not None}
    try:
        secured = {"security": Security(**_security(files))} if files else {}
        client = Client(address, timeout=_ANSWER_SECONDS, set_as_default=False, **secured)
    except (OSError, ValueError, TypeError) as error:
        raise NoCluster(f"No Dask scheduler answers at {address}; start one with dask scheduler ({error}).") from None
    with client:
        if not client.scheduler_info(n_workers=-1)["workers"]:
            raise NoCluster(f"The scheduler at {address} has no workers; start some with dask worker {address}.")
        yield client.get_executor(pure=False, retries=_RETRIES)


def _security(files: Mapping[str, str]) -> dict[str, Any]:
    """What a client takes who talks to nobody without TLS."""
    named = {"ca": "tls_ca_file", "cert": "tls_client_cert", "key": "tls_client_key"}
    return {"require_encryption": True, **{named[name]: path for name, path in files.items()}}


def record_maker(scheduler: str | None) -> Callable[..., Outcome]:
    """Return the function that makes one record, here or on a worker of the cluster."""
    return make_record if scheduler is None else make_record_on_worker


def make_record_on_worker(job: Job, making: Making) -> Outcome:
    """Make a record, after checking that this worker sees the files and runs the same software as who asks.

    A task whose worker is lost runs again elsewhere; that gives the same record.
    """
    if not job.template.is_file():
        where = Path.cwd().as_posix()
        said = f"a worker in {where} does not see {job.template.as_posix()}; start it in the run's folder, on its disk"
        return Outcome(case=job.case, failure=f"{job.case.label}: {said}")
    if job.stamp["package_sha256"] != hash_package():
        said = "a worker runs another version of this package; install the same there and start it again"
        return Outcome(case=job.case, failure=f"{job.case.label}: {said}")
    return make_record(job, making)
