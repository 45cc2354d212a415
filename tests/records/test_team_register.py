"""A register for teams in a real PostgreSQL server that the tests start: the same rows and chain, writers side by side.

PostgreSQL 15 documentation: explicit locking (13.3.2, row locks), transactions; Debian's packages put the programs in
/usr/lib/postgresql/VERSION/bin.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.support.kept.team_writer import row
from tests.support.places import ROOT
from vibcal_nb.records.register.documents import Document
from vibcal_nb.records.register.register import RegisterUnusable, append_rows, check_chain, read_rows
from vibcal_nb.records.register.register_rows import COLUMNS
from vibcal_nb.records.register.team_register import TeamRegister, enter_all

psycopg = pytest.importorskip("psycopg")


def program(name):
    """A program of the server: on the path, or where Debian's package puts it; None where there is none."""
    found = [shutil.which(name), *map(str, sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), reverse=True))]
    return next((path for path in found if path), None)


pytestmark = pytest.mark.skipif(
    program("initdb") is None or sys.platform == "win32", reason="no PostgreSQL server is installed (postgresql)"
)


@contextmanager
def server():
    """Run a server of our own on a socket in a short folder, as another user where we are root."""
    with tempfile.TemporaryDirectory(prefix="pg") as place:
        own = {"user": "postgres"} if os.getuid() == 0 else {}
        if own:
            shutil.chown(place, "postgres")
        data, silent = f"{place}/data", {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        options = ["-A", "trust", "-U", "team", "--no-sync", "-E", "UTF8", "--no-locale"]
        subprocess.run([program("initdb"), "-D", data, *options], check=True, cwd=place, **own, **silent)
        settings = ["-c", "listen_addresses=", "-c", f"unix_socket_directories={place}", "-c", "fsync=off"]
        running = subprocess.Popen([program("postgres"), "-D", data, *settings], cwd=place, **own, **silent)
        try:
            address = f"postgresql://team@/postgres?host={place}"
            await_server(address, running)
            yield address
        finally:
            running.send_signal(signal.SIGINT)  # fast shutdown
            running.wait(timeout=60)


def await_server(address, running):
    for _ in range(600):
        try:
            psycopg.connect(address).close()
            return
        except psycopg.OperationalError:
            assert running.poll() is None
            time.sleep(0.1)
    raise RuntimeError("the server did not start")


@pytest.fixture(scope="module")
def address():
    with server() as found:
        yield found


def document(number):
    return Document(kind="sign-off", place=f"p{number}", seal=f"s{number}", sha256="0" * 64, said="Engineer D")


def test_rows_and_chain_are_those_of_the_register_beside_the_records(address, tmp_path):
    path, team = tmp_path / "register.sqlite", TeamRegister(address=address, site="same")
    append_rows(path, [row(n) for n in range(20)], [document(n) for n in range(3)])
    assert enter_all(path, team) == 20
    assert enter_all(path, team) == 0
    assert team.read_rows(COLUMNS) == [tuple(values) for values in read_rows(path, COLUMNS)]
    assert (check_chain(path), team.check_chain()) == ([], [])
    import sqlite3

    ours = sqlite3.connect(path).execute("SELECT sequence, previous, hash FROM results ORDER BY 1").fetchall()
    with psycopg.connect(address) as connection:
        query = "SELECT sequence, previous, hash FROM results WHERE site = 'same' ORDER BY 1"
        assert [tuple(item) for item in connection.execute(query)] == ours


def test_sites_have_chains_of_their_own_and_revisions_are_kept(address):
    one, other = (TeamRegister(address=address, site=name) for name in ("one", "other"))
    assert one.append([row(1)]) == other.append([row(1)]) == 1
    assert one.append([row(1)]) == 0
    assert one.append([row(1, seal="second revision")], earlier=[row(1)]) == 1
    assert [seal for (seal,) in one.read_rows(("seal",))] == ["V1-1", "second revision"]
    assert [seal for (seal,) in other.read_rows(("seal",))] == ["V1-1"]


WRITER = "tests.support.kept.team_writer"


def start_writer(address, site, name, *, count, each):
    command = [sys.executable, "-m", WRITER, address, site, name, str(count), str(each)]
    found = {**os.environ, "PYTHONPATH": str(ROOT)}  # for the current folder may be off the path, as commands put it
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=found)


def test_eight_writers_append_beside_one_another_and_the_chain_is_whole(address):
    writers = [start_writer(address, "eight", f"W{n}", count=40, each=5) for n in range(8)]
    ended = [writer.wait(timeout=240) for writer in writers]
    for writer in writers:
        writer.stdout.close()
    assert ended == [0] * 8
    team = TeamRegister(address=address, site="eight")
    found = team.read_rows(("channel", "visit"))
    assert len(found) == len(set(found)) == 8 * 40
    assert team.check_chain() == []


def test_a_killed_writer_loses_nothing_that_it_was_told_is_kept(address):
    writer = start_writer(address, "killed", "W", count=100_000, each=20)
    lines = [writer.stdout.readline() for _ in range(5)]
    writer.kill()
    told = [int(line) for line in [*lines, *writer.stdout] if line.strip().isdigit()]
    writer.wait(timeout=60)
    writer.stdout.close()
    assert len(told) >= 5
    team = TeamRegister(address=address, site="killed")
    kept = len(team.read_rows(("seal",)))
    assert kept >= told[-1]
    assert kept % 20 == 0
    assert team.check_chain() == []
    assert team.append([row(kept, channel="W")]) == 1
    assert team.check_chain() == []


def test_the_database_refuses_changes_and_the_chain_tells_of_those_it_could_not_refuse(address):
    team = TeamRegister(address=address, site="altered")
    team.append([row(n) for n in range(4)], [document(1)])
    with psycopg.connect(address, autocommit=True) as connection:
        for change in ("UPDATE results SET verdict = 'fail'", "DELETE FROM results", "TRUNCATE documents"):
            with pytest.raises(psycopg.Error, match="append-only"):
                connection.execute(change)
        connection.execute("SET session_replication_role = replica")  # as who owns the server can
        connection.execute("UPDATE results SET verdict = 'fail' WHERE site = 'altered' AND sequence = 2")
        connection.execute("DELETE FROM results WHERE site = 'altered' AND sequence = 4")
    said = [problem.sentence for problem in team.check_chain()]
    assert "Row 2 of the results is not what was written: it was altered." in said
    assert any("what came behind is gone" in text for text in said)


def test_what_cannot_be_reached_is_a_sentence_without_the_password(tmp_path):
    team = TeamRegister(address=f"postgresql://team:secret@/postgres?host={tmp_path}", site="none")
    with pytest.raises(RegisterUnusable) as refused:
        team.append([row(1)])
    assert "secret" not in str(refused.value)
    assert str(refused.value).startswith("The register for teams (postgresql://.../postgres) cannot be used")
    assert "\n" not in str(refused.value)
