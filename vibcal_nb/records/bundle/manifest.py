"""What a bundle says that it holds: every file by its SHA-256 sum."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from vibcal_nb.problems import Refused, shown
from vibcal_nb.records.files.canonical import kept_bytes

MANIFEST = "manifest.json"
SIGNATURE = "manifest.json.sig"
SIGNERS = "allowed_signers"
INDEX = "index.html"
RECORDS = "records"
INPUTS = "inputs"
FORMAT = 1
_SUM = re.compile(r"[0-9a-f]{64}")


class BundleRefused(Refused):
    """A file that is no bundle, or one that is not used as it is; the text is one sentence."""


@dataclass(frozen=True, kw_only=True)
class Manifest:
    """The asset and visit of a bundle, who packed it and when (``by`` empty where nobody signed it), and its sums."""

    asset: str
    visit: str
    made: str
    by: str
    sums: Mapping[str, str]


def manifest_bytes(manifest: Manifest) -> bytes:
    """Return a manifest as its file holds it."""
    said = {"format": FORMAT, "asset": manifest.asset, "visit": manifest.visit, "made": manifest.made}
    return kept_bytes({**said, "by": manifest.by, "files": dict(sorted(manifest.sums.items()))})


def read_manifest(data: bytes) -> Manifest:
    """Read a manifest. Raises ``BundleRefused``."""
    try:
        said: Any = json.loads(data.decode("utf-8"))
        found = said["format"]
        texts = {name: said[name] for name in ("asset", "visit", "made", "by")}
        sums = dict(said["files"])
    except (ValueError, KeyError, TypeError, RecursionError):
        raise BundleRefused(f"{MANIFEST}: found no manifest; ask for the bundle anew.") from None
    if type(found) is not int or found != FORMAT:
        raise BundleRefused(f"{MANIFEST}: found format {shown(found)}; this version reads {FORMAT}.")
    if not all(isinstance(text, str) for text in texts.values()):
        raise BundleRefused(f"{MANIFEST}: found no manifest; ask for the bundle anew.")
    if not all(isinstance(value, str) and _SUM.fullmatch(value) for value in sums.values()):
        raise BundleRefused(f"{MANIFEST}: found a sum that is none; ask for the bundle anew.")
    return Manifest(**texts, sums=sums)


def sum_of_bytes(data: bytes) -> str:
    """Return the SHA-256 sum of a file's bytes."""
    return hashlib.sha256(data).hexdigest()
