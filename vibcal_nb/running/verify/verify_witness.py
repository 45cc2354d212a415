"""A witness verified: its chain, how far the register knows that it had come, and every entry against the folder."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from vibcal_nb.display.writing.names import plural
from vibcal_nb.problems import shown
from vibcal_nb.records.files.places import SUPERSEDED
from vibcal_nb.records.files.plain_files import is_plain
from vibcal_nb.records.register.documents import SIGNOFF
from vibcal_nb.records.register.record_place import place_of
from vibcal_nb.records.register.register import register_path
from vibcal_nb.records.signoff.places import signature_path
from vibcal_nb.records.witness.chain import Chain, Entry
from vibcal_nb.records.witness.entries import RECORD, cut_off
from vibcal_nb.running.verify.register_of import RegisterOf
from vibcal_nb.running.verify.states import Finding, Verified, altered, incomplete
from vibcal_nb.running.verify.verifier import Verifier

_SHOWN = 50


def verify_witness(chain: Chain, paths: Sequence[Path], verifier: Verifier) -> Verified:
    """Verify a witness against the records below some paths; that a record is not in it, the record's own findings say.

    Raises ``OSError``.
    """
    findings = [altered(problem) for problem in chain.problems]
    findings += [altered(said) for root in _roots(paths) for said in _cut_off(chain, root, verifier)]
    for path in paths:
        findings += _gone(chain, path.absolute(), verifier)
    findings = list(dict.fromkeys(findings))
    more = len(findings) - _SHOWN
    if more > 0:
        findings = [*findings[:_SHOWN], altered(f"and {more} more")]
    if not chain.entries:
        findings.append(incomplete("it has no entries"))
    torn = (f"{plural(chain.torn, 'line')} begun and not finished",) if chain.torn else ()
    return Verified(path=chain.path, findings=tuple(findings), said=(chain.standing, *torn))


def _roots(paths: Sequence[Path]) -> list[Path]:
    return list(dict.fromkeys(root_of(path.absolute()) for path in paths))


def root_of(path: Path) -> Path:
    """Return the records folder that a path lies in, or is: by its register, where there is one."""
    folder = path if path.is_dir() else path.parent
    with_register = [above for above in (folder, *folder.parents) if is_plain(register_path(above))]
    return with_register[0] if with_register else path if path.is_dir() else place_of(path).root


def _cut_off(chain: Chain, root: Path, verifier: Verifier) -> list[str]:
    register = verifier.register(root)
    return [] if register is None else cut_off(chain, register.documents)


def _gone(chain: Chain, path: Path, verifier: Verifier) -> Iterator[Finding]:
    """What was entered and is nowhere in its channel's folder, among the superseded ones either."""
    root = root_of(path)
    sums: dict[Path, Mapping[str, Path]] = {}
    for entry in chain.entries:
        place = root / entry.witnessed.place
        channel = place.parent.parent if place.parent.name == SUPERSEDED else place.parent
        if not channel.is_relative_to(root) or not _concerns(path, place, channel):
            continue
        if channel not in sums:
            sums[channel] = {**verifier.records_of(channel), **_signoffs_in(channel)}
        if entry.witnessed.sum not in sums[channel]:
            yield altered(_entry_gone(entry))


def _concerns(path: Path, place: Path, channel: Path) -> bool:
    """Whether an entry is of what is verified: all that is below a folder, or one record and its sign-offs."""
    if path.is_dir():
        return channel.is_relative_to(path) or path.is_relative_to(channel)
    return place.name.startswith(f"{path.stem}.") and path.parent in (channel, channel / SUPERSEDED)


def _entry_gone(entry: Entry) -> str:
    what = f"the seal {entry.witnessed.sum[:16]}…" if entry.witnessed.kind == RECORD else "its sum"
    kind = entry.witnessed.kind if entry.witnessed.kind in (RECORD, SIGNOFF) else shown(entry.witnessed.kind)
    return f"{entry.witnessed.place}: this {kind} was entered on {entry.at[:10]} with {what}, and is gone"


def _signoffs_in(channel: Path) -> dict[str, Path]:
    files = [*channel.glob("*.signoff-*.json"), *(channel / SUPERSEDED).glob("*.signoff-*.json")]
    found = {RegisterOf.sum_of(path): path for path in files if is_plain(path) or is_plain(signature_path(path))}
    return {digest: path for digest, path in found.items() if digest is not None}
