"""A bundle opened by somebody who does not trust it.

A name that leads out of the folder, a link, two names that one file system takes for one, more or larger files than a
visit has, and a file that unpacks to more than it says are refused, before a byte of it is used. Sizes are counted as
they come, not believed.
"""

from __future__ import annotations

import errno
import re
import stat
import unicodedata
import zipfile
from collections.abc import Iterable
from pathlib import Path, PurePosixPath

from vibcal_nb.problems import shown
from vibcal_nb.records.bundle.manifest import (
    MANIFEST,
    SIGNATURE,
    BundleRefused,
    Manifest,
    read_manifest,
    sum_of_bytes,
)
from vibcal_nb.records.files.plain_files import is_plain

MOST_FILES = 20_000
MOST_UNPACKED = 2_000_000_000
MOST_OF_ONE = 500_000_000
MOST_RATIO = 400
LONGEST_NAME = 400
MOST_DEEP = 12
_BLOCK = 1 << 20
_ODD = re.compile(r'[\x00-\x1f\x7f\\:*?"<>|]|[ .]$')


def is_bundle(path: Path) -> bool:
    """Whether a path is a file that a bundle would be."""
    return path.suffix.lower() == ".zip" and is_plain(path)


def unpack(bundle: Path, folder: Path) -> tuple[Manifest, list[str]]:
    """Unpack a bundle into an empty folder; return its manifest, and in clauses what is not as that says.

    Raises ``BundleRefused``, ``OSError``.
    """
    try:
        with zipfile.ZipFile(bundle) as archive:
            items = archive.infolist()
            _check_names(bundle, items)
            sums = {item.filename: _unpack_one(bundle, archive, item, folder) for item in items}
    except BundleRefused:
        raise
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError) as error:
        raise _refused(bundle, f"a file that is no readable ZIP ({type(error).__name__})") from None
    except Exception as error:  # an archive breaks in as many ways as it has fields
        if isinstance(error, OSError) and error.errno != errno.EINVAL:  # an offset before the file's start is EINVAL
            raise
        raise _refused(bundle, f"a file that is no readable ZIP ({type(error).__name__})") from None
    if MANIFEST not in sums:
        raise _refused(bundle, f"no {MANIFEST}")
    manifest = read_manifest((folder / MANIFEST).read_bytes())
    return manifest, list(_differences(manifest, sums))


def _refused(bundle: Path, found: str) -> BundleRefused:
    return BundleRefused(f"{bundle.name}: found {found}; nothing of it was used: ask for the bundle anew.")


def _check_names(bundle: Path, items: list[zipfile.ZipInfo]) -> None:
    if len(items) > MOST_FILES:
        raise _refused(bundle, f"more than {MOST_FILES:,} files")
    seen: set[str] = set()
    for item in items:
        name = item.filename
        problem = _name_problem(name) or _kind_problem(item)
        if problem is not None:
            raise _refused(bundle, f"{shown(name)}, {problem}")
        folded = unicodedata.normalize("NFC", name).casefold()
        if folded in seen:
            raise _refused(bundle, f"{shown(name)} twice")
        seen.add(folded)
    if sum(item.file_size for item in items) > MOST_UNPACKED:
        raise _refused(bundle, f"more than {MOST_UNPACKED // 1_000_000_000} GB once unpacked")


def _name_problem(name: str) -> str | None:
    parts = PurePosixPath(name).parts
    if name.startswith("/") or ".." in name.split("/") or "." in name.split("/") or "" in name.split("/"):
        return "a name that leads out of its folder"
    if any(_ODD.search(part) for part in parts):
        return "a name that some system does not allow"
    if len(name) > LONGEST_NAME or len(parts) > MOST_DEEP:
        return "a longer or deeper name than a bundle has"
    return None


def _kind_problem(item: zipfile.ZipInfo) -> str | None:
    mode = item.external_attr >> 16
    if mode and stat.S_IFMT(mode) not in (0, stat.S_IFREG):
        return "a link or a device"
    if item.flag_bits & 0x1:
        return "which is encrypted"
    if item.file_size > MOST_OF_ONE or item.file_size > MOST_RATIO * max(item.compress_size, 1_000):
        return "which unpacks to more than a file of a visit holds"
    return None


def _unpack_one(bundle: Path, archive: zipfile.ZipFile, item: zipfile.ZipInfo, folder: Path) -> str:
    """Write one file below the folder, and return its sum; the size is counted as it comes."""
    place = folder.joinpath(*item.filename.split("/"))
    place.parent.mkdir(parents=True, exist_ok=True)
    blocks: list[bytes] = []
    size = 0
    with archive.open(item) as source:
        while block := source.read(_BLOCK):
            size += len(block)
            if size > item.file_size:
                raise _refused(bundle, f"{shown(item.filename)}, which unpacks to more than it says")
            blocks.append(block)
    data = b"".join(blocks)
    place.write_bytes(data)
    return sum_of_bytes(data)


def _differences(manifest: Manifest, sums: dict[str, str]) -> Iterable[str]:
    own = {name: value for name, value in sums.items() if name not in (MANIFEST, SIGNATURE)}
    for name in sorted({**manifest.sums, **own}):
        if name not in own:
            yield f"{name}: listed in {MANIFEST}, and not there"
        elif name not in manifest.sums:
            yield f"{name}: there, and not listed in {MANIFEST}"
        elif own[name] != manifest.sums[name]:
            yield f"{name}: not what {MANIFEST} lists"
