"""A record as one web page that needs nothing else: no network, no script, no font; prints on A4 and Letter.

The page is a function of the record alone, so that it can be made again and compared byte for byte.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from functools import cache, lru_cache
from html import escape
from typing import Any

from vibcal_nb.display.site.site_matrix import MATRIX_STYLE
from vibcal_nb.display.style import VERDICT_LOOKS, verdict_text
from vibcal_nb.records.seal.inert_html import inert_html
from vibcal_nb.records.seal.page_style import PAGE_STYLE
from vibcal_nb.records.seal.record_content import identity_line, result_of, seal_rows, word_signoff
from vibcal_nb.records.seal.seal import METADATA_KEY, seal_of

NO_SUM = "0" * 64
_SUM_TAG = '<meta name="page-sha256" content="{}">'
# nothing is loaded or sent and no script runs, whatever stands in the record
_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'"


def record_page(notebook: Mapping[str, Any]) -> bytes:
    """Return the page of a sealed record (JSON content as its file holds it), with its own SHA-256 inside.

    Raises ``ValueError`` where the notebook carries no seal.
    """
    seal = seal_of(notebook)
    if seal is None:
        raise ValueError("The notebook carries no seal, so that it is no record.")
    body = "\n".join(_cells(notebook))
    title = identity_line(seal)
    page = _PAGE.format(
        policy=_POLICY,
        sum_tag=_SUM_TAG.format(NO_SUM),
        seal=escape(seal["digest"]),
        title=escape(title),
        style=PAGE_STYLE.replace("IDENTITY", _css_text(f"{title} · seal {seal['digest'][:16]}")),
        head=_head(notebook, seal),
        body=body,
        foot=_foot(seal),
    )
    return with_sum(page).encode("utf-8", "replace")


def with_sum(page: str) -> str:
    """Put the page's own SHA-256 into it, taken with zeros in the sum's place."""
    digest = hashlib.sha256(page.encode("utf-8", "replace")).hexdigest()
    return page.replace(_SUM_TAG.format(NO_SUM), _SUM_TAG.format(digest), 1)


def has_own_sum(data: bytes) -> bool:
    """Whether a page's bytes are those its own sum was taken over."""
    start = data.find(_SUM_TAG.split("{}")[0].encode())
    if start < 0:
        return False
    start += len(_SUM_TAG.split("{}")[0])
    blank = data[:start] + NO_SUM.encode() + data[start + 64 :]
    return hashlib.sha256(blank).hexdigest().encode() == data[start : start + 64]


_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="record-seal" content="{seal}">
{sum_tag}
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<header>
{head}
</header>
<main>
{body}
</main>
<footer>
{foot}
</footer>
</body>
</html>
"""


def _head(notebook: Mapping[str, Any], seal: Mapping[str, Any]) -> str:
    result = result_of(notebook)
    word = str(result.get("verdict"))
    look = VERDICT_LOOKS.get(word)
    verdict = f'<p class="verdict" style="color: {look.colour}">{escape(verdict_text(word))}</p>' if look else ""
    warnings = "".join(f"<p><b>{escape(text)}</b></p>" for text in _warnings(notebook, seal))
    statement = escape(str(result.get("statement", "")))
    return f"<p class=identity>{escape(identity_line(seal))}</p>{warnings}{verdict}<p>{statement}</p>"


def _warnings(notebook: Mapping[str, Any], seal: Mapping[str, Any]) -> Iterator[str]:
    """What a reader has to know before anything else."""
    made = notebook["metadata"][METADATA_KEY].get("notebook")
    if isinstance(made, Mapping) and made.get("own") is not True:
        yield f"Made with another notebook than the package's own: {made.get('file')}, SHA-256 {made.get('sha256')}."
    replaces = seal.get("replaces") or {}
    for item in replaces.get("signed_off", ()):
        yield f"Replaces revision {replaces['revision']}, which had been signed off: {word_signoff(item)}."


def _foot(seal: Mapping[str, Any]) -> str:
    rows = "".join(f"<tr><th>{escape(name)}</th><td>{escape(text)}</td></tr>" for name, text in seal_rows(seal))
    return f"<h2>Seal of this record</h2><table class=seal>{rows}</table><p>End of the record.</p>"


def _cells(notebook: Mapping[str, Any]) -> Iterator[str]:
    for cell in notebook["cells"]:
        source = joined(cell.get("source", ""))
        if cell["cell_type"] == "markdown":
            yield f"<section>{inert_html(_render(source))}</section>"
        elif cell["cell_type"] == "code":
            yield f"<details><summary>code</summary><pre>{escape(source)}</pre></details>"
            yield from (f"<div class=output>{_output(output)}</div>" for output in cell.get("outputs", ()))


@lru_cache(maxsize=256)
def _render(text: str) -> str:
    """Return Markdown as HTML; all records of a notebook have the same texts."""
    return str(_markdown()(text))


@cache
def _markdown() -> Any:
    import mistune  # only where a page is made

    return mistune.create_markdown(escape=True, plugins=["table", "strikethrough"])


def joined(text: Any) -> str:
    """Return a text that a notebook's file may hold as a list of lines."""
    return "".join(text) if isinstance(text, list) else str(text)


def _output(output: Mapping[str, Any]) -> str:
    """Return what a reader sees of an output: its HTML where it has any, as the notebook shows it."""
    data = output.get("data", {})
    if "text/html" in data:
        return inert_html(joined(data["text/html"]), (MATRIX_STYLE,))
    if "image/png" in data:
        text = escape(joined(data.get("text/plain", "")))
        return f'<img alt="{text}" src="data:image/png;base64,{escape(joined(data["image/png"]).strip())}">'
    text = data.get("text/plain") or output.get("text") or output.get("traceback") or ""
    return f"<pre>{escape(joined(text))}</pre>"


def _css_text(text: str) -> str:
    """Write a text so that it stays a text inside a quoted string of a style sheet inside a page."""
    return "".join(c if c.isalnum() or c in " .,:()·-" else f"\\{ord(c):06x}" for c in text)


def seal_in(data: bytes) -> str | None:
    """Return the seal of the record that a page was made of; None where it names none."""
    found = re.search(rb'<meta name="record-seal" content="([0-9a-f]{64})">', data)
    return None if found is None else found[1].decode()
