"""The page of a bundle that opens without anything installed: verdicts, and a link to each file."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from html import escape
from pathlib import Path
from typing import Any
from urllib.parse import quote

from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.display.writing.names import plural, spoken
from vibcal_nb.records.bundle.manifest import INPUTS, MANIFEST, RECORDS, SIGNERS
from vibcal_nb.records.files.places import RESULTS_FILE
from vibcal_nb.records.files.plain_files import read_plain
from vibcal_nb.records.review.returned import holding_return
from vibcal_nb.records.seal.seal import seal_of
from vibcal_nb.records.signoff.kept_statement import of_seal
from vibcal_nb.records.signoff.statement import read_signoff

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'"
_STYLE = """
:root { color-scheme: light dark; }
body { font: 15px/1.5 "Segoe UI", Helvetica, Arial, sans-serif; margin: 0 auto; max-width: 66rem; padding: 1.5rem; }
h1 { font-size: 1.5rem; margin: 0; } h2 { font-size: 1.1rem; margin: 1.6rem 0 0.4rem; }
p, li { max-width: 80ch; } .wide { overflow-x: auto; }
table { border-collapse: collapse; } th, td { text-align: left; vertical-align: top; padding: 0.3rem 0.8rem 0.3rem 0; }
tbody tr { border-top: 1px solid #8886; } thead th { border-bottom: 2px solid #8888; font-weight: 600; }
tbody th { white-space: nowrap; } .same { visibility: hidden; } code { font-size: 0.9em; }
.files a { margin-right: 0.8rem; white-space: nowrap; }
@media print { .same { visibility: visible; } }
"""


def index_page(files: Mapping[str, Path], *, asset: str, visit: str, by: str) -> str:
    """Return the page of a bundle of these files, by their names in it. ``by`` is who signs it; empty for nobody."""
    root = f"{RECORDS}/{asset}/{visit}"
    entries = json.loads(read_plain(files[f"{root}/{RESULTS_FILE}"]))["results"]
    rows = "".join(_rows(files, root, entries))
    inputs = sum(name.startswith(f"{INPUTS}/") for name in files)
    signed = f"Packed and signed by {escape(by)}." if by else "Packed by nobody who signed it."
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(asset)}, visit {escape(visit)}</title><style>{_STYLE}</style></head><body><main>\n"
        f"<h1>{escape(asset)}, visit of {escape(visit)}</h1><p>{plural(len(entries), 'record')}. {signed}</p>\n"
        f"<div class=wide><table><thead><tr><th scope=col>channel</th><th scope=col>record</th>"
        f"<th scope=col>verdict</th><th scope=col>signed off by</th><th scope=col>files</th></tr></thead>"
        f"<tbody>\n{rows}</tbody></table></div>\n{_how(inputs, files)}</main></body></html>\n"
    )


def _rows(files: Mapping[str, Path], root: str, entries: list[Any]) -> Iterator[str]:
    before = None
    for entry in sorted(entries, key=lambda item: str(item["channel"])):
        channel, record = str(entry["channel"]), f"{root}/{entry['record']}"
        name = f"{spoken(entry['analysis'])}, {spoken(entry['condition'])}"
        verdict = chip_html(str(entry["verdict"]))
        same = " class=same" if channel == before else ""
        yield (
            f"<tr><th scope=row{same}>{escape(channel)}</th><td>{escape(name)}</td><td>{verdict}</td>"
            f"<td>{'<br>'.join(map(escape, _decisions(files, record))) or 'nobody'}</td>"
            f"<td class=files>{_links(files, record, first=channel != before)}</td></tr>\n"
        )
        before = channel


def _signers(files: Mapping[str, Path], record: str, seal: str) -> Iterator[str]:
    """Who signed off, as the sign-offs say; whether their signatures hold, the command `verify` finds out."""
    stem = record.removesuffix(".ipynb")
    names = sorted(name for name in files if name.startswith(f"{stem}.signoff-") and name.endswith(".json"))
    for found in of_seal((files[name] for name in names), read_signoff, seal):
        yield f"{found.name}, {found.role}, {found.day}{'' if found.signed else ' (typed, unsigned)'}"


def _decisions(files: Mapping[str, Path], record: str) -> Iterator[str]:
    """Who returned the record as it is now, and who signed it off."""
    seal = seal_of(json.loads(read_plain(files[record]))) if record in files else None
    if seal is None:
        return
    returned = holding_return(files[record], str(seal["digest"]))
    if returned is not None:
        yield f"RETURNED by {returned.who}"
    yield from _signers(files, record, str(seal["digest"]))


def _links(files: Mapping[str, Path], record: str, *, first: bool) -> str:
    stem, folder = record.removesuffix(".ipynb"), record.rpartition("/")[0]
    channel = folder.rpartition("/")[2]
    wanted = [(f"{stem}.html", "page"), (record, "notebook")]
    if first:
        wanted += [(f"{folder}/{channel}.pdf", "report"), (f"{folder}/{channel}.dcc.xml", "certificate")]
    return " ".join(f'<a href="{quote(name)}">{text}</a>' for name, text in wanted if name in files)


def _how(inputs: int, files: Mapping[str, Path]) -> str:
    signers = (
        f"<code>{SIGNERS}</code> is the list of whose keys count, as who packed this has it: compare it with your own."
        if SIGNERS in files
        else "No list of allowed signers was packed: give your own, to learn whose the signatures are."
    )
    with_inputs = (
        f"{plural(inputs, 'file')} of the site's inputs."
        if inputs
        else "no inputs of the site, which were not at hand; the records state what they rest on themselves."
    )
    return (
        "<h2>What this is, and how it is checked</h2>"
        f"<p>The pages open in any browser. The bundle holds the records with their pages, reports, certificates, and "
        f"{with_inputs} <code>{MANIFEST}</code> lists every file with its sum.</p>"
        "<p>A page alone proves nothing. Where the software is installed, this performs every record again and checks "
        "every seal, sum and signature:</p><pre>vibcal-nb verify BUNDLE.zip --allowed-signers YOUR_LIST</pre>"
        f"<p>{signers}</p>"
        "<p>The records inform a competent person. They replace neither the maker's instructions, nor local codes, nor "
        "licensed practice, and are by themselves no accredited calibration.</p>"
    )
