"""A report (PDF) verified: typeset again from the records that it is of, and compared byte by byte."""

from __future__ import annotations

from pathlib import Path

from vibcal_nb.problems import Refused
from vibcal_nb.records.files.places import SUPERSEDED
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.report import channel_report as report
from vibcal_nb.records.seal.intact import check_seal
from vibcal_nb.running.fleet.stamp import stamp_of
from vibcal_nb.running.verify.states import Finding, State, Verified, altered, incomplete
from vibcal_nb.running.verify.verifier import Verifier


def verify_report(path: Path, verifier: Verifier) -> Verified:
    """Verify a report. Raises ``OSError``."""
    data = read_plain(path)
    seals = report.seals_in(data)
    if not seals or not report.has_own_sum(data):
        return Verified(path=path, findings=(altered("the report was changed, or is of no record"),))
    superseded = path.parent.name == SUPERSEDED
    channel = path.absolute().parent.parent if superseded else path.absolute().parent
    records = verifier.records_of(channel)
    missing = [seal for seal in seals if seal not in records]
    if not records:
        text = f"whole, and none of its {len(seals)} records is beside it: what it shows was compared with nothing"
        return Verified(path=path, findings=(Finding(state=State.NOT_PERFORMED, text=text),))
    if missing:
        said = [f"no intact record beside it has the seal {seal[:16]}…, of which it was made" for seal in missing]
        return Verified(path=path, findings=tuple(map(altered, said)))
    current = [seal for seal, file in records.items() if file.parent.name != SUPERSEDED]
    if not superseded and not set(seals) <= set(current):
        return Verified(path=path, findings=(incomplete("the report is of revisions that were superseded since"),))
    return _compared(path, data, [records[seal] for seal in seals], verifier)


def _compared(path: Path, data: bytes, records: list[Path], verifier: Verifier) -> Verified:
    try:
        again = report.typeset_again(records)
    except (Refused, KeyError, TypeError, ValueError, AttributeError) as error:
        text = f"it was not typeset again from its records ({error})"
        return Verified(path=path, findings=(Finding(state=State.NOT_PERFORMED, text=text),))
    if again == data:
        return Verified(path=path, said=(f"intact, of {len(records)} records, typeset again byte for byte",))
    if all(_is_by_this_software(record, verifier) for record in records):
        return Verified(path=path, findings=(altered("it does not show what its records hold"),))
    text = "it shows its records otherwise than this software would, and was made by another"
    return Verified(path=path, findings=(Finding(state=State.NOT_PERFORMED, text=text),))


def _is_by_this_software(record: Path, verifier: Verifier) -> bool:
    check = check_seal(read_plain(record))
    return verifier.is_by_this_software(stamp_of(check.notebook), check.seal or {})
