"""The same records on a local Dask cluster of two worker processes, one of which is killed on the way.

python -m tests.benchmarks.fleets.bench_fleet_cluster [CHANNELS], by default 12. Needs the extra `cluster`.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.fleets.bench_fleet_kills import check, count
from tests.support.kept.same_record import timeless
from tests.support.sites.fleet_site import build_fleet, run_command


def main() -> None:
    from distributed import LocalCluster

    channels = int((*sys.argv[1:], "12")[0])
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        records = build_fleet(folder / "site", channels=channels)
        here = run_command(folder / "site", folder / "here", "--no-pdf")
        subprocess.run(here, check=False, capture_output=True)
        with LocalCluster(n_workers=2, threads_per_worker=2, dashboard_address=None) as cluster:
            address = cluster.scheduler_address
            command = run_command(folder / "site", folder / "there", "--no-pdf", "--scheduler", address)
            with subprocess.Popen(command, stdout=subprocess.PIPE) as there:
                while count(folder / "there") < records // 3:
                    time.sleep(0.1)
                victim = next(iter(cluster.workers.values())).pid
                os.kill(victim, signal.SIGKILL)
                print(f"worker process {victim} killed after {count(folder / 'there')} of {records} records")
                print((there.communicate()[0] or b"").decode().splitlines()[0])
        problems = check(folder / "there", records)
        for path in sorted((folder / "here").rglob("*.as-found.ipynb")):
            if timeless(path) != timeless(folder / "there" / path.relative_to(folder / "here")):
                problems.append(f"{path.name} differs")
        print("\n".join(problems) or f"{records} records, the same as without the cluster, none lost, none twice")
        raise SystemExit(bool(problems))


if __name__ == "__main__":
    main()
