"""A writer of a register for teams, in a process of its own.

python -m tests.support.kept.team_writer ADDRESS SITE NAME N EACH

It says after each append how many rows it was told are kept.
"""

from __future__ import annotations

import sys

from vibcal_nb.records.register.register_rows import RegisterRow
from vibcal_nb.records.register.team_register import TeamRegister


def row(number, *, channel="V1", seal=None):
    """A row, made up."""
    return RegisterRow(
        asset="A",
        visit=f"visit-{number}",
        date="2026-05-19",
        channel=channel,
        analysis="linearity",
        condition="as-found",
        verdict="pass",
        margin_pct=number / 3,
        record=f"A/{number}/{channel}.ipynb",
        seal=seal or f"{channel}-{number}",
        seal_kind="seal",
        statement="−1 % ± 0.5 % \u2713",
        summary="{}",
        quantities="[]",
    )


def write(address, site, name, count, each):
    """Append rows, some at a time."""
    team = TeamRegister(address=address, site=site)
    for start in range(0, count, each):
        team.append([row(number, channel=name) for number in range(start, start + each)])
        print(start + each, flush=True)


if __name__ == "__main__":
    write(*sys.argv[1:4], *map(int, sys.argv[4:6]))
