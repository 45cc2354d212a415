"""What tests of register are made of."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace

from vibcal_nb.records.register.register_rows import RegisterRow


def tamper(path, *statements):
    """Change the file as someone would who takes the triggers away first."""
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("DROP TRIGGER IF EXISTS results_no_update")
        connection.execute("DROP TRIGGER IF EXISTS results_no_delete")
        for statement in statements:
            connection.execute(*statement)


def row(number, **changes):
    plain = RegisterRow(
        asset="STG-1",
        visit="2026-05-19",
        date="2026-05-19",
        channel=f"V{number}",
        analysis="linearity",
        condition="as-found",
        verdict="pass",
        margin_pct=37.5,
        record=f"STG-1/2026-05-19/V{number}/linearity.as-found.ipynb",
        seal=f"{number:064x}",
        seal_kind="file",
        statement=f"V{number}: pass.",
        summary="{}",
        quantities="[]",
    )
    return replace(plain, **changes)
