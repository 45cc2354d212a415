"""Sign-offs: a reviewer's statement on one seal, signed by OpenSSH with the reviewer's own key, or typed only.

A sign-off is a small JSON file beside its record (``....signoff-1.json``) naming the seal, who, in which role, when
and a remark; its signature (``....signoff-1.json.sig``) is made and checked by ``ssh-keygen -Y`` (OpenSSH 8.2 or
newer; the format is PROTOCOL.sshsig of OpenSSH). Whose key it is, an allowed-signers file says (ssh-keygen(1)).
Without a signature a sign-off is what anybody could have typed, and is called that.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from vibcal_nb.problems import NotDone, in_words
from vibcal_nb.records.files.canonical import kept_bytes
from vibcal_nb.records.files.whole_files import write_atomically
from vibcal_nb.records.seal.seal import digest_of

NAMESPACE = "vibcal-nb-signoff"
_KEYS = {"schema", "record", "seal", "name", "role", "date", "remark", "digest"}


class SignatureImpossible(NotDone):
    """ssh-keygen is missing or refuses; the text is one sentence."""


@dataclass(frozen=True, kw_only=True)
class SignoffCheck:
    """What a sign-off is worth: in words, and whether something is wrong with it."""

    path: Path
    said: str
    fault: bool = False


def write_signoff(
    record: Path, *, seal: str, name: str, role: str, date: str, remark: str = "", key: Path | None = None
) -> Path:
    """Write a sign-off beside a record, signed where ``key`` (private, or public with an agent) is given.

    The caller has checked that the record is intact and has this ``seal``. Raises ``SignatureImpossible``,
    ``OSError``.
    """
    statement = {"schema": 1, "record": record.name, "seal": seal, "name": name, "role": role}
    statement |= {"date": date, "remark": remark}
    data = kept_bytes({**statement, "digest": digest_of(statement)})
    signature = None if key is None else _sign(data, key)
    path = _next_path(record)
    if signature is not None:
        write_atomically(path.with_name(f"{path.name}.sig"), signature)
    write_atomically(path, data)
    return path


def list_signoffs(record: Path) -> list[Path]:
    """List the sign-offs beside a record, in their order."""
    prefix = f"{record.stem}.signoff-"
    found = [path for path in record.parent.glob("*.json") if path.name.startswith(prefix)]
    return sorted(found, key=lambda path: (len(path.name), path.name))


def check_signoffs(record: Path, *, seal: str, allowed_signers: Path | None = None) -> Iterator[SignoffCheck]:
    """Check every sign-off of a record. Raises ``SignatureImpossible`` where a signature cannot be checked."""
    for path in list_signoffs(record):
        try:
            statement = _read(path)
        except (OSError, ValueError) as error:
            yield SignoffCheck(path=path, said=f"sign-off {path.name} is unusable: {in_words(error)}", fault=True)
            continue
        yield _check(path, statement, seal, allowed_signers)


def _check(path: Path, statement: Mapping[str, Any], seal: str, allowed_signers: Path | None) -> SignoffCheck:
    who = f"{statement['name']}, {statement['role']}, {statement['date']}"
    who += f" ({statement['remark']})" if statement["remark"] else ""
    if statement["seal"] != seal:
        said = f"sign-off {path.name} by {who} is of another seal than this record's"
        return SignoffCheck(path=path, said=said, fault=True)
    signature = path.with_name(f"{path.name}.sig")
    if not signature.is_file():
        return SignoffCheck(path=path, said=f"typed sign-off, unsigned: {who}")
    data = path.read_bytes()
    if allowed_signers is None:
        if _keygen(["-Y", "check-novalidate", "-n", NAMESPACE, "-s", str(signature)], data) is None:
            return SignoffCheck(path=path, said=f"the signature of {who} does not fit {path.name}", fault=True)
        said = f"signed off by {who}: the signature fits; whose key it is was not checked (give --allowed-signers)"
        return SignoffCheck(path=path, said=said)
    signer = _signer(data, signature, allowed_signers)
    if signer is None:
        return SignoffCheck(
            path=path, said=f"the signature of {who} is by no allowed signer or does not fit", fault=True
        )
    return SignoffCheck(path=path, said=f"signed off by {who}: signature valid, key of {signer}")


def _read(path: Path) -> dict[str, Any]:
    data = path.read_bytes()
    try:
        statement = json.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        raise ValueError("it is no JSON") from None
    if not isinstance(statement, dict) or set(statement) != _KEYS or statement["schema"] != 1:
        raise ValueError("it does not hold what a sign-off holds")
    if not all(isinstance(statement[key], str) for key in _KEYS - {"schema"}):
        raise ValueError("it does not hold what a sign-off holds")
    if digest_of(statement) != statement["digest"] or data != kept_bytes(statement):
        raise ValueError("it was changed after it was written")
    return statement


def _next_path(record: Path) -> Path:
    number = 1
    while (path := record.with_name(f"{record.stem}.signoff-{number}.json")).exists():
        number += 1
    return path


def _sign(data: bytes, key: Path) -> bytes:
    if not key.is_file():
        raise SignatureImpossible(
            f"There is no key file {key.as_posix()}; give the file of your SSH key, or leave --key out."
        )
    with TemporaryDirectory() as folder:
        message = Path(folder) / "statement"
        message.write_bytes(data)
        # standard input stays a person's: ssh-keygen asks for the key's passphrase itself
        done = _run(["-Y", "sign", "-f", str(key), "-n", NAMESPACE, str(message)], stdin=None)
        if done.returncode != 0:
            raise SignatureImpossible(f"ssh-keygen did not sign: {_last_line(done.stderr)}")
        return Path(f"{message}.sig").read_bytes()


def _signer(data: bytes, signature: Path, allowed_signers: Path) -> str | None:
    """Return who of the allowed signers signed; None where nobody did."""
    files = ["-s", str(signature), "-f", str(allowed_signers)]
    found = _keygen(["-Y", "find-principals", *files], data) or ""
    for principal in found.splitlines():
        if _keygen(["-Y", "verify", "-n", NAMESPACE, "-I", principal, *files], data) is not None:
            return principal
    return None


def _keygen(arguments: Sequence[str], data: bytes) -> str | None:
    """Return what ssh-keygen says of some data; None where it says no."""
    done = _run(arguments, stdin=data)
    return done.stdout.decode("utf-8", "replace") if done.returncode == 0 else None


def _run(arguments: Sequence[str], *, stdin: bytes | None) -> subprocess.CompletedProcess[bytes]:
    try:
        return subprocess.run(["ssh-keygen", *arguments], input=stdin, capture_output=True, check=False)
    except FileNotFoundError:
        raise SignatureImpossible("ssh-keygen (OpenSSH) is not installed, which signs and checks signatures.") from None


def _last_line(text: bytes) -> str:
    lines = text.decode("utf-8", "replace").strip().splitlines()
    return lines[-1] if lines else "no reason given"
