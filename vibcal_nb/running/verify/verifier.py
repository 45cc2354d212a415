"""What is the same for all files of one call: inputs, results files, registers and seals are read once."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from threading import RLock
from typing import Any

from vibcal_nb.records.files.places import SUPERSEDED
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.inputs_used.present import PresentInputs
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.records.seal.surroundings import surroundings
from vibcal_nb.records.signoff.allowed_signers import AllowedSigners
from vibcal_nb.records.witness.chain import Chain
from vibcal_nb.running.fleet.stamp import PACKAGE, hash_package
from vibcal_nb.running.verify.register_of import RegisterOf, read_register


class Verifier:
    """Verifies the files of one call. Safe for threads.

    ``inputs``: a visit, an asset or a site folder in which the visits are looked for; without it, where the
    record's own parameter says. ``allowed``: whose keys count. ``witness``: the hash chain kept elsewhere.
    """

    def __init__(
        self, *, inputs: Path | None = None, allowed: AllowedSigners | None = None, witness: Chain | None = None
    ) -> None:
        self.inputs, self.allowed, self.witness = inputs, allowed, witness
        self.present = PresentInputs()
        self._lock = RLock()
        self._results: dict[Path, dict[str, Any]] = {}
        self._registers: dict[Path, RegisterOf | None] = {}
        self._seals: dict[Path, Mapping[str, Any] | None] = {}

    def is_by_this_software(self, stamp: Mapping[str, Any], seal: Mapping[str, Any]) -> bool:
        """Whether a record was made by this very software in these very surroundings: then nothing may differ."""
        return stamp.get(PACKAGE) == hash_package() and seal.get("environment") == surroundings()

    def entries(self, results: Path) -> dict[str, Any]:
        """Return the entries of a results file by the record they name; none where it cannot be read."""
        with self._lock:
            if results not in self._results:
                try:
                    entries = json.loads(read_plain(results))["results"]
                    self._results[results] = {entry["record"]: entry for entry in entries}
                except (OSError, ValueError, KeyError, TypeError, RecursionError):
                    self._results[results] = {}
            return self._results[results]

    def register(self, root: Path) -> RegisterOf | None:
        """Return the register of a records folder; None where there is none, or none that can be read."""
        with self._lock:
            if root not in self._registers:
                self._registers[root] = read_register(root)
            return self._registers[root]

    def seal(self, record: Path) -> Mapping[str, Any] | None:
        """Return the seal of a record's file, without its sums; None where the file is not there or not intact."""
        record = record.absolute()
        with self._lock:
            known = record in self._seals
        if not known:
            self._seals[record] = _seal(record)
        return self._seals[record]

    def digest(self, record: Path) -> str | None:
        """Return the digest of a record's seal; None where the file is not there or not intact."""
        seal = self.seal(record)
        return None if seal is None else str(seal["digest"])

    def replaced_by(self, record: Path) -> object:
        """Return the digest of the revision that a record replaced; None where it replaced none."""
        replaces = (self.seal(record) or {}).get("replaces")
        return replaces.get("seal") if isinstance(replaces, Mapping) else None

    def revisions(self, record: Path) -> set[str | None]:
        """Return the digests of the revisions of a record that were set aside."""
        folder = record.parent / SUPERSEDED
        return {self.digest(path) for path in folder.glob(f"{record.stem}.rev*.ipynb")}

    def records_of(self, channel: Path) -> dict[str, Path]:
        """Return the intact records of a channel's folder by their digests, those that were set aside among them."""
        files = [*channel.glob("*.ipynb"), *(channel / SUPERSEDED).glob("*.ipynb")]
        found = {self.digest(path): path for path in sorted(files, key=lambda path: path.parent == channel)}
        return {digest: path for digest, path in found.items() if digest is not None}


def _seal(record: Path) -> Mapping[str, Any] | None:
    try:
        check = check_seal(read_plain(record))
    except OSError:
        return None
    if not check.intact or check.seal is None:
        return None
    return {name: value for name, value in check.seal.items() if name != "parts"}
