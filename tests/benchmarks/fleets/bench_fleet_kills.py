"""Kill a run again and again at random moments, restart it each time, and look whether anything is lost or left.

python -m tests.benchmarks.fleets.bench_fleet_kills [CHANNELS] [KILLS] [SECONDS], by default 60, 20 and 7. Moments are
drawn from a seeded generator between the start of the command and so many seconds later: few enough that the work is
not done before the last kill.
"""

from __future__ import annotations

import json
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

from tests.support.sites.fleet_site import build_fleet, run_command
from vibcal_nb.records.register.register import check_chain, register_path
from vibcal_nb.records.seal.intact import check_seal


def start(site: Path, out: Path) -> subprocess.Popen[str]:
    command = run_command(site, out, "--no-pdf")
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def count(out: Path) -> int:
    return len(list(out.rglob("*.as-found.ipynb")))


def check(out: Path, records: int) -> list[str]:
    """Return in words all that is not as after a run that nobody disturbed."""
    found = sorted(out.rglob("*.ipynb"))
    entries = [e for file in out.rglob("results.json") for e in json.loads(file.read_text(encoding="utf-8"))["results"]]
    with closing(sqlite3.connect(register_path(out))) as register:
        rows = register.execute("SELECT COUNT(*), COUNT(DISTINCT record) FROM results").fetchone()
    problems = [f"{path} is not intact" for path in found if not check_seal(path.read_bytes()).intact]
    problems += [f"{path} is a stray" for path in out.rglob("*") if path.name.startswith(".")]
    problems += [f"{path} was superseded" for path in out.rglob("superseded")]
    counts = (len(found), len({(e["channel"], e["analysis"]) for e in entries}), len(entries), *rows)
    if set(counts) != {records}:
        problems.append(f"records, distinct results, results, rows, distinct rows: {counts}, not {records} each")
    return problems + [problem.sentence for problem in check_chain(register_path(out))]


def main() -> None:
    channels, kills, longest = (int(a) for a in (*sys.argv[1:], *("60", "20", "7")[len(sys.argv) - 1 :]))
    moments = random.Random(20)
    with tempfile.TemporaryDirectory() as name:
        out = Path(name) / "out"
        records = build_fleet(Path(name) / "site", channels=channels)
        for number in range(kills):
            run = start(Path(name) / "site", out)
            time.sleep(moments.uniform(0.2, longest))
            ended = run.poll() is not None
            run.kill()
            run.communicate()
            strays = [path.name for path in out.rglob(".*")]
            print(f"kill {number + 1}: {count(out)} of {records} records, strays {strays}{', had ended' * ended}")
        said, complained = start(Path(name) / "site", out).communicate()
        print(said.splitlines()[0], complained.strip())
        problems = check(out, records)
        print("\n".join(problems) or f"{records} records present, intact, none twice, no stray files")
        raise SystemExit(bool(problems))


if __name__ == "__main__":
    main()
