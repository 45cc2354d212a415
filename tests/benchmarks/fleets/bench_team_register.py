"""Eight writers into one register for teams, 10 000 rows: python -m tests.benchmarks.fleets.bench_team_register.

A ninth is killed meanwhile. Says how long it took, whether the chain is whole, and that nothing told as kept is lost.
"""

from __future__ import annotations

import time

from tests.records import test_team_register as register
from vibcal_nb.records.register.team_register import TeamRegister

WRITERS, EACH = 8, 1250


def main() -> None:
    with register.server() as address:
        team = TeamRegister(address=address, site="bench")
        began = time.monotonic()
        writers = [register.start_writer(address, "bench", f"W{n}", count=EACH, each=25) for n in range(WRITERS)]
        killed = register.start_writer(address, "bench", "killed", count=100_000, each=25)
        told = [int(killed.stdout.readline()) for _ in range(3)]
        killed.kill()
        told += [int(line) for line in killed.stdout if line.strip().isdigit()]
        killed.wait()
        assert [writer.wait() for writer in writers] == [0] * WRITERS
        seconds = time.monotonic() - began
        rows = team.read_rows(("channel", "visit"))
        own = sum(channel == "killed" for channel, _ in rows)
        others = len(set(rows)) - own
        problems = team.check_chain()
        print(f"{WRITERS} writers, {others} rows in {seconds:.0f} s, the chain {problems or 'whole'};")
        print(f"a killed writer was told {told[-1]} rows are kept, and {own} are there")


if __name__ == "__main__":
    main()
