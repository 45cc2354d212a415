"""Cases of the register given to `verify` and `overview`: bytes, rows or schema changed, or made of odd records."""

from __future__ import annotations

import json
import math
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from random import Random
from typing import Any

from tests.fuzzing.mutations import mutate_bytes, mutate_json
from tests.fuzzing.nasty import TEXTS
from tests.fuzzing.records import forge_record, good_folder, run_command
from tests.fuzzing.sentences import check_printed
from vibcal_nb.display.site.site_matrix import matrix_html
from vibcal_nb.display.site.site_tables import site_sentence
from vibcal_nb.notebook.site import overview_of_folder, read_day
from vibcal_nb.problems import ParameterError
from vibcal_nb.records.register.rebuild import rebuild_register
from vibcal_nb.records.register.register import REGISTER_FILE, RegisterUnusable, check_chain
from vibcal_nb.records.register.register_rows import COLUMNS, FIRST, chain_hash
from vibcal_nb.records.register.site_export import site_rows, write_csv, write_xlsx
from vibcal_nb.running.commands.exit_status import ExitStatus

_CELLS: tuple[Any, ...] = (
    *TEXTS,
    None,
    b"\x00\xff",
    b"\xff" * 5000,
    0,
    -1,
    2**63 - 1,
    1.5,
    math.inf,
    -math.inf,
    "[" * 100_000,
    '{"date": "2026-05-19"}',
    '{"date": "0000-00-00"}',
    "{}",
    "[]",
    "NaN",
    "9" * 5000,
)
_SCHEMAS = (
    "DROP TABLE results",
    "ALTER TABLE results RENAME COLUMN summary TO other",
    "ALTER TABLE results ADD COLUMN more TEXT",
    "CREATE TABLE other (x)",
    "CREATE TRIGGER slow AFTER INSERT ON results BEGIN SELECT 1; END",
    "DROP TABLE results; CREATE VIEW results AS WITH RECURSIVE n(sequence) AS (SELECT 1 UNION ALL SELECT sequence + 1 "
    "FROM n) SELECT sequence, {columns}, '' AS previous, '' AS hash FROM n",
    "DROP TABLE results; CREATE TABLE results (sequence INTEGER PRIMARY KEY)",
    "UPDATE sqlite_sequence SET seq = 9223372036854775807",
    "UPDATE sqlite_sequence SET seq = 'many'",
    "DELETE FROM sqlite_sequence",
    "PRAGMA user_version = 7",
    "PRAGMA user_version = -1",
    "PRAGMA journal_mode = WAL",
    "INSERT INTO results (sequence, previous, hash) VALUES (2000000000, 'x', 'y')",
    "INSERT INTO results (sequence, previous, hash) VALUES (-5, 'x', 'y')",
)


def _change_row(path: Path, random: Random) -> None:
    """Put anything into the row's cells; now and then with hashes as they must be."""
    with closing(sqlite3.connect(path)) as file:
        file.executescript("DROP TRIGGER results_no_update; DROP TRIGGER results_no_delete;")
        row = list(file.execute(f"SELECT {', '.join(COLUMNS)} FROM results").fetchone())
        for _ in range(random.randint(1, 2)):
            row[random.randrange(len(row))] = random.choice(_CELLS)
        if random.random() < 0.6:
            place = COLUMNS.index(random.choice(("summary", "summary", "quantities")))
            row[place] = json.dumps(
                mutate_json(json.loads(file.execute("SELECT summary FROM results").fetchone()[0]), random)
            )
        names = ", ".join(f"{name} = ?" for name in COLUMNS)
        stored = [
            value.encode("utf-8", "surrogatepass").decode("utf-8", "replace") if isinstance(value, str) else value
            for value in row
        ]
        file.execute(f"UPDATE results SET {names}", stored)
        if random.random() < 0.7:
            stored = list(file.execute(f"SELECT {', '.join(COLUMNS)} FROM results").fetchone())
            if not any(isinstance(value, bytes) for value in stored):
                file.execute("UPDATE results SET hash = ?", (chain_hash(1, FIRST, stored),))
        file.commit()
        if random.random() < 0.8:
            from vibcal_nb.records.register.register import _CREATE

            file.executescript(_CREATE)


def _change_schema(path: Path, random: Random) -> None:
    with closing(sqlite3.connect(path)) as file:
        file.executescript("DROP TRIGGER results_no_update; DROP TRIGGER results_no_delete;")
        columns = ", ".join(f"'' AS {name}" for name in COLUMNS)
        file.executescript(random.choice(_SCHEMAS).replace("{columns}", columns))


def _change_bytes(path: Path, random: Random) -> None:
    path.write_bytes(mutate_bytes(path.read_bytes(), random))


KINDS = {
    "register, bytes": _change_bytes,
    "register, rows": _change_row,
    "register, schema": _change_schema,
    "register, rebuilt": None,
}


def try_register(kind: str, seed: int, folder: Path) -> str:
    """Verify a register and look at the site by it; 'accepted' where the site could be shown."""
    random = Random(f"{kind} {seed}")
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(good_folder(), folder)
    records = folder / "records"
    change = KINDS[kind]
    if change is None:
        record = next(records.glob("*/*/*/*.ipynb"))
        record.write_bytes(forge_record(record.read_bytes(), random))
        check_printed("\n".join(rebuild_register(records).unusable))
    else:
        change(records / REGISTER_FILE, random)
    return "accepted" if _look(records, random) else "refused"


def _look(records: Path, random: Random) -> bool:
    """Do what `overview` does but for its notebook."""
    assert run_command(["verify", str(records / REGISTER_FILE)]) in (ExitStatus.DONE, ExitStatus.NOT_ALL_PASS)
    on = random.choice(("2026-06-01", "2026-06-01", "0001-01-01", "9999-12-31"))
    months = random.choice((13.0, 13.0, 1e-300, 9000.0, math.nan, math.inf, -1.0, 0.0, 1e300))
    try:
        check_chain(records / REGISTER_FILE)
        overview = overview_of_folder(records, on=read_day(on), interval_months=months)
    except (RegisterUnusable, ParameterError) as refused:
        text = str(refused)
        check_printed(text)
        assert text.endswith("."), text
        return False
    check_printed(site_sentence(overview))
    html = matrix_html(overview, overview.channels)
    assert "<script" not in html and "<img" not in html
    for row in site_rows(overview):
        assert all(math.isfinite(cell) for cell in row if isinstance(cell, float)), row
    write_csv(overview, records / "site.csv")
    write_xlsx(overview, records / "site.xlsx")
    return True
