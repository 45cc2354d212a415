"""ssh-keygen of OpenSSH, which signs and checks signatures."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from vibcal_nb.problems import NotDone
from vibcal_nb.records.files.plain_files import is_plain

NAMESPACE = "vibcal-nb-signoff"


class SignatureImpossible(NotDone):
    """ssh-keygen is missing or refuses; the text is one sentence."""


def sign(data: bytes, key: Path) -> bytes:
    """Return the signature of some data by a key (private, or public with an agent). Raises ``SignatureImpossible``."""
    if not is_plain(key):
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


def fits(data: bytes, signature: Path) -> bool:
    """Whether a signature is of these bytes, whoever made it. Raises ``SignatureImpossible``."""
    done = _run(["-Y", "check-novalidate", "-n", NAMESPACE, "-s", str(signature)], stdin=data)
    return done.returncode == 0


def is_by(principal: str, data: bytes, signature: Path, *, allowed: Path, at: datetime) -> tuple[bool, str]:
    """Whether a signature is by a key that ``allowed`` ties to the principal at that time; else why not, in words.

    Raises ``SignatureImpossible``.
    """
    words = ["-Y", "verify", "-n", NAMESPACE, "-I", principal, "-s", str(signature), "-f", str(allowed)]
    moment = at.astimezone().strftime("%Y%m%d%H%M%S")  # as the clock on the wall says: what every version reads
    done = _run([*words[:2], "-O", f"verify-time={moment}", *words[2:]], stdin=data)
    if done.returncode != 0 and b"verify-time" in done.stderr:  # before OpenSSH 8.9 the time is the present
        done = _run(words, stdin=data)
    return done.returncode == 0, _last_line(done.stderr)


def _run(arguments: Sequence[str], *, stdin: bytes | None) -> subprocess.CompletedProcess[bytes]:
    try:
        return subprocess.run([program(), *arguments], input=stdin, capture_output=True, check=False)
    except FileNotFoundError:
        raise SignatureImpossible("ssh-keygen (OpenSSH) is not installed, which signs and checks signatures.") from None


def program() -> str:
    """Return the path of ssh-keygen: the first of the folders that programs are looked for in, never the current one.

    Windows would take one that lies in the current folder, which somebody else may have sent.
    """
    name = "ssh-keygen.exe" if sys.platform == "win32" else "ssh-keygen"
    folders = [Path(folder) for folder in os.environ.get("PATH", os.defpath).split(os.pathsep) if folder]
    found = (folder / name for folder in folders if folder.is_absolute())
    return str(next((path for path in found if path.is_file()), Path("/nowhere") / name))


def _last_line(text: bytes) -> str:
    lines = text.decode("utf-8", "replace").strip().splitlines()
    return lines[-1] if lines else "no reason given"
