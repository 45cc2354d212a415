"""A bundle verified: unpacked apart, its manifest and signature checked, and all in it asked as in any folder."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from vibcal_nb.records.bundle.manifest import INPUTS, MANIFEST, RECORDS, SIGNATURE, SIGNERS, Manifest
from vibcal_nb.records.bundle.unpack import unpack
from vibcal_nb.records.files.plain_files import is_plain, read_plain
from vibcal_nb.records.signoff.allowed_signers import AllowedSigners, read_allowed_signers
from vibcal_nb.records.signoff.ssh import fits, is_by
from vibcal_nb.running.verify.states import Finding, State, Verified, altered

_SHOWN = 20


@dataclass(frozen=True, kw_only=True)
class OpenedBundle:
    """A bundle, unpacked: where its records, inputs and list of allowed signers lie now; None for what it lacks."""

    folder: Path
    manifest: Manifest
    differences: tuple[str, ...]

    @property
    def records(self) -> Path:
        """The folder of its records."""
        return self.folder / RECORDS

    @property
    def inputs(self) -> Path | None:
        """The site that it holds."""
        place = self.folder / INPUTS
        sites = [path for path in place.iterdir() if path.is_dir()] if place.is_dir() else []
        return sites[0] / self.manifest.asset if len(sites) == 1 else None

    @property
    def signers(self) -> Path | None:
        """The list of allowed signers that it holds."""
        return self.folder / SIGNERS if is_plain(self.folder / SIGNERS) else None


@contextmanager
def open_bundle(path: Path) -> Iterator[OpenedBundle]:
    """Unpack a bundle for as long as it is looked at. Raises ``BundleRefused``, ``OSError``."""
    with TemporaryDirectory(prefix="bundle-") as place:
        folder = Path(place).resolve()
        manifest, differences = unpack(path, folder)
        yield OpenedBundle(folder=folder, manifest=manifest, differences=tuple(differences))


def verify_manifest(path: Path, bundle: OpenedBundle, allowed: AllowedSigners | None) -> Verified:
    """Verify the bundle as a whole: its files by their sums, and who signed it. Raises ``SignatureImpossible``."""
    findings = [altered(text) for text in bundle.differences[:_SHOWN]]
    more = len(bundle.differences) - _SHOWN
    findings += [altered(f"and {more} more files")] if more > 0 else []
    said = [f"{len(bundle.manifest.sums)} files, each as listed"] if not findings else []
    signature = _signature(bundle, allowed)
    if isinstance(signature, Finding):
        findings.append(signature)
    else:
        said.append(signature)
    return Verified(path=path, findings=tuple(findings), said=tuple(said))


def _signature(bundle: OpenedBundle, allowed: AllowedSigners | None) -> Finding | str:
    by, place = bundle.manifest.by, bundle.folder / SIGNATURE
    if not is_plain(place):
        return altered(f"it says that {by} signed it, and the signature is gone") if by else "not signed as a whole"
    data = read_plain(bundle.folder / MANIFEST)
    if not by or not fits(data, place):
        return altered("its signature does not fit its manifest")
    if allowed is None:
        return f"signed by {by}; whose key it is was not checked (give --allowed-signers)"
    counting = bundle.folder / ".counting"
    counting.write_text(allowed.text, encoding="utf-8")
    moment = datetime.fromisoformat(bundle.manifest.made)
    for principal in dict.fromkeys((*allowed.named(by), by)):
        good, _ = is_by(principal, data, place, allowed=counting, at=moment)
        if good:
            return f"signed as a whole by {by}: signature valid, key of {principal}"
    return Finding(state=State.UNSIGNED, text=f"the signature of {by} is by no allowed signer")


def own_list(bundle: OpenedBundle) -> AllowedSigners | None:
    """Read the list of allowed signers that a bundle brings; None where it brings none. Raises ``SignersUnusable``."""
    return None if bundle.signers is None else read_allowed_signers(bundle.signers)
