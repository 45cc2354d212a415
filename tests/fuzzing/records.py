"""Cases of records given to `verify`: one file of a good folder changed, or forged with care; told in sentences."""

from __future__ import annotations

import atexit
import contextlib
import io
import json
import shutil
import subprocess
import tempfile
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from tests.fuzzing.mutations import mutate_bytes, mutate_json
from tests.fuzzing.sentences import check_printed
from tests.support.kept.made_records import make_records
from tests.support.kept.performed import remember_performances
from vibcal_nb.problems import InputRefused
from vibcal_nb.records.files.canonical import kept_bytes, results_bytes
from vibcal_nb.records.register.rebuild import rebuild_register
from vibcal_nb.records.seal.seal import digest_of, make_seal
from vibcal_nb.records.signoff.statement import Signoff
from vibcal_nb.records.signoff.write_signoff import write_signoff
from vibcal_nb.running.commands.cli import COMMANDS, build_parser
from vibcal_nb.running.commands.exit_status import ExitStatus

_NAME = "records/STG-1/2026-05-19/STG-1-V11/linearity.as-found"


@cache
def good_folder() -> Path:
    """A site with its records, sheet, register and a signed sign-off, made once."""
    home = Path(tempfile.mkdtemp(prefix="good-records-"))
    atexit.register(shutil.rmtree, home, ignore_errors=True)
    remember_performances()
    record = make_records(home)
    seal = json.loads(record.read_bytes())["metadata"]["vibcal_nb"]["seal"]["digest"]
    key = home / "key"
    subprocess.run(["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", str(key)], check=True)
    where = "STG-1/2026-05-19/STG-1-V11/linearity.as-found.ipynb"
    at = "2026-06-01T12:00:00+00:00"
    said = {"record": where, "seal": seal, "name": "Reviewer B", "role": "reviewer", "at": at, "remark": ""}
    write_signoff(record, Signoff(**said, revision=1, verdict="pass"), key=key)
    rebuild_register(home / "records")
    for aside in (home / "records").glob("register.aside-*"):
        aside.unlink()
    signers = "reviewer-b@kestrel-fold.example " + key.with_suffix(".pub").read_text(encoding="utf-8")
    (home / "allowed_signers").write_text(signers, encoding="utf-8")
    return home


def _lay(folder: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(good_folder(), folder)


def _sealed(content: Any) -> bytes:
    """Seal content anew, as somebody who knows how could; as it is where there is nothing to seal."""
    try:
        own = content["metadata"]["vibcal_nb"]
        said = {name: value for name, value in own.pop("seal").items() if name not in ("digest", "parts", "content")}
        own["seal"] = make_seal(content, **said)
    except (KeyError, TypeError, AttributeError):
        pass
    return kept_bytes(content)


def _forged_seal(content: Any, random: Random) -> bytes:
    """Change what the seal itself says, and give it its digest."""
    seal = mutate_json(content["metadata"]["vibcal_nb"]["seal"], random)
    with contextlib.suppress(TypeError, AttributeError):
        seal["digest"] = digest_of(seal)
    content["metadata"]["vibcal_nb"]["seal"] = seal
    return kept_bytes(content)


def forge_record(data: bytes, random: Random) -> bytes:
    content = json.loads(data)
    if random.random() < 0.3:
        return _forged_seal(content, random)
    return _sealed(mutate_json(content, random))


def _forged_results(data: bytes, random: Random) -> bytes:
    content = mutate_json(json.loads(data), random)
    try:
        return results_bytes(content)
    except ValueError:  # NaN
        return json.dumps(content).encode("utf-8", "surrogatepass")


def _forged_signoff(data: bytes, random: Random) -> bytes:
    statement = mutate_json(json.loads(data), random)
    statement["digest"] = digest_of({name: value for name, value in statement.items() if name != "digest"})
    return kept_bytes(statement)


KINDS = {
    "record, bytes": (f"{_NAME}.ipynb", mutate_bytes),
    "record, forged": (f"{_NAME}.ipynb", forge_record),
    "page": (f"{_NAME}.html", mutate_bytes),
    "sheet": ("records/STG-1/2026-05-19/STG-1-V11/STG-1-V11.pdf", mutate_bytes),
    "results, bytes": ("records/STG-1/2026-05-19/results.json", mutate_bytes),
    "results, forged": ("records/STG-1/2026-05-19/results.json", _forged_results),
    "sign-off, bytes": (f"{_NAME}.signoff-1.json", mutate_bytes),
    "sign-off, forged": (f"{_NAME}.signoff-1.json", _forged_signoff),
    "signature": (f"{_NAME}.signoff-1.json.sig", mutate_bytes),
    "allowed signers": ("allowed_signers", mutate_bytes),
}


CHANGES_ARE_TOLD = tuple(kind for kind in KINDS if kind not in ("record, forged", "allowed signers"))


def try_record(kind: str, seed: int, folder: Path) -> str:
    """Verify the folder with one file changed; 'accepted' where all was found in order, else 'refused'."""
    random = Random(f"{kind} {seed}")
    _lay(folder)
    name, change = KINDS[kind]
    before = (folder / name).read_bytes()
    after = change(before, random)
    (folder / name).write_bytes(after)
    arguments = ["verify", str(folder / "records"), "--inputs", str(folder / "site")]
    if kind in ("signature", "allowed signers"):
        arguments += ["--allowed-signers", str(folder / "allowed_signers")]
    status = run_command(arguments)
    if before == after or kind not in CHANGES_ARE_TOLD:
        return "accepted" if status is ExitStatus.DONE else "refused"
    assert status is ExitStatus.NOT_ALL_PASS, "changed, and not told"
    return "refused"


def run_command(arguments: list[str]) -> ExitStatus:
    """Run a command without the handler that makes a sentence of any exception; check what it prints."""
    said = io.StringIO()
    parsed = build_parser().parse_args(arguments)
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            status = COMMANDS[parsed.command][0].execute(parsed)
    except InputRefused as refused:
        said.write(str(refused))
        status = ExitStatus.REFUSED
    check_printed(said.getvalue())
    return ExitStatus(status)
