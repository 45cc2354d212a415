"""Records of forked processes and of ordinary kernels, for every channel, visit and analysis of the demo site.

python -m tests.benchmarks.fleets.bench_fleet_equal [OPTIONS OF RUN]. Prints what differs apart from times.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.support.kept.same_record import timeless

RUN = "import sys; from vibcal_nb.running import cli, execute; {}; sys.exit(cli.main(sys.argv[1:]))"
ORDINARY = "from vibcal_nb.running import template_process as t; t.current_platform = lambda: 'another'"


def main() -> None:
    site = str(Path(__file__).parents[3] / "data_demo")
    with tempfile.TemporaryDirectory() as name:
        for out, what in (("warm", "pass"), ("ordinary", ORDINARY)):
            arguments = ["run", site, "--out", f"{name}/{out}", "--workers", "2", "--no-pdf", *sys.argv[1:]]
            done = subprocess.run(
                [sys.executable, "-c", RUN.format(what), *arguments], capture_output=True, text=True, check=False
            )
            print(f"{out}: {done.stdout.splitlines()[0]} {done.stderr.strip()}")
        warm = sorted(Path(name, "warm").rglob("*.ipynb"))
        ordinary = sorted(Path(name, "ordinary").rglob("*.ipynb"))
        differing = [a for a, b in zip(warm, ordinary, strict=True) if a.name != b.name or timeless(a) != timeless(b)]
        print("\n".join(map(str, differing)) or f"{len(warm)} records, forked and of ordinary kernels, are equal")
        raise SystemExit(bool(differing))


if __name__ == "__main__":
    main()
