"""A bundle written: one ZIP file, the same bytes for the same content."""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from vibcal_nb.problems import Refused
from vibcal_nb.records.bundle.contents import input_files, record_files
from vibcal_nb.records.bundle.index_page import index_page
from vibcal_nb.records.bundle.manifest import (
    INDEX,
    MANIFEST,
    RECORDS,
    SIGNATURE,
    SIGNERS,
    Manifest,
    manifest_bytes,
    sum_of_bytes,
)
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.files.whole_files import partial_path
from vibcal_nb.records.register.rebuild import rebuild_register
from vibcal_nb.records.register.register import REGISTER_FILE
from vibcal_nb.records.seal.record_content import now
from vibcal_nb.records.signoff.ssh import sign

_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that a ZIP file can state: one content, one sequence of bytes


def write_bundle(
    visit: Path,
    out: Path,
    *,
    inputs: Path | None = None,
    signers: Path | None = None,
    name: str = "",
    key: Path | None = None,
) -> Manifest:
    """Write the bundle of a visit's records.

    ``visit``: the visit's folder of records. ``inputs``: the visit's folder in its site, None where it is not at hand.
    ``signers``: the list of allowed signers to go with it. ``key`` signs the manifest, in the name of ``name``.
    Raises ``Refused``, ``SignatureImpossible``, ``RegisterUnusable``, ``OSError``; no part of a bundle is left then.
    """
    files = record_files(visit) | ({} if inputs is None else input_files(inputs))
    if signers is not None:
        files[SIGNERS] = signers
    _refuse_in_itself(out, files)
    asset = visit.absolute().parent.name
    with TemporaryDirectory() as place:
        data = {path: read_plain(source) for path, source in files.items()}
        data[f"{RECORDS}/{REGISTER_FILE}"] = _register(data, Path(place))
        data[INDEX] = index_page(files, asset=asset, visit=visit.absolute().name, by=name if key else "").encode()
        sums = {path: sum_of_bytes(content) for path, content in data.items()}
        manifest = Manifest(asset=asset, visit=visit.absolute().name, made=now(), by=name if key else "", sums=sums)
        data[MANIFEST] = manifest_bytes(manifest)
        if key is not None:
            data[SIGNATURE] = sign(data[MANIFEST], key)
        _write(out, data)
    return manifest


def _refuse_in_itself(out: Path, files: Mapping[str, Path]) -> None:
    if out.absolute() in {path.absolute() for path in files.values()}:
        raise Refused(f"{out.as_posix()}: this is one of the files to be packed; give another name.")


def _register(data: Mapping[str, bytes], place: Path) -> bytes:
    """Return a register of these records alone: that of the whole folder names records that do not go along."""
    for name, content in data.items():
        if name.startswith(f"{RECORDS}/"):
            path = place.joinpath(*name.split("/"))
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
    rebuild_register(place / RECORDS)
    found = read_plain(place / RECORDS / REGISTER_FILE)
    shutil.rmtree(place / RECORDS)
    return found


def _write(out: Path, data: Mapping[str, bytes]) -> None:
    out.parent.mkdir(parents=True, exist_ok=True)
    partial = partial_path(out)
    first = [name for name in (INDEX, MANIFEST, SIGNATURE, SIGNERS) if name in data]
    try:
        with zipfile.ZipFile(partial, "w", zipfile.ZIP_DEFLATED) as archive:
            for name in (*first, *sorted(set(data) - set(first))):
                item = zipfile.ZipInfo(name, _TIME)
                item.compress_type, item.external_attr, item.create_system = zipfile.ZIP_DEFLATED, 0o644 << 16, 3
                archive.writestr(item, data[name])
        partial.replace(out)
    except BaseException:
        partial.unlink(missing_ok=True)
        raise
