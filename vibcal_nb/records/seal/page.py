"""A record as one web page that needs nothing else: no network, no script, no font; prints on A4 and Letter.

The page is a function of the record alone, so that it can be made again and compared byte for byte.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from html import escape
from typing import Any

from vibcal_nb.display.style import VERDICT_LOOKS
from vibcal_nb.display.writing.chip import chip_html
from vibcal_nb.records.seal.inert_html import inert_html
from vibcal_nb.records.seal.page_head import page_head
from vibcal_nb.records.seal.page_style import PAGE_STYLE
from vibcal_nb.records.seal.record_content import MIME_TYPE, identity_line, result_of, seal_rows
from vibcal_nb.records.seal.seal import seal_of

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
    leads = _answer_leads(notebook)
    head = page_head(notebook, seal) + ("" if leads else _verdict(notebook))
    body = "\n".join(_answer_first(notebook["cells"]) if leads else _every_cell(notebook["cells"]))
    title = identity_line(seal)
    page = _PAGE.format(
        policy=_POLICY,
        sum_tag=_SUM_TAG.format(NO_SUM),
        seal=escape(seal["digest"]),
        title=escape(title),
        style=PAGE_STYLE.replace("IDENTITY", _css_text(f"{title} · seal {seal['digest'][:16]}")),
        head=head,
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


def _verdict(notebook: Mapping[str, Any]) -> str:
    """The verdict and the statement, of a notebook that shows no card of its answer."""
    result = result_of(notebook)
    word = str(result.get("verdict"))
    chip = f"<p class=verdict>{chip_html(word)}</p>" if word in VERDICT_LOOKS else ""
    return f"{chip}<p>{escape(str(result.get('statement', '')))}</p>"


def _foot(seal: Mapping[str, Any]) -> str:
    rows = "".join(
        f"<tr><th scope=row>{escape(name)}</th><td>{escape(text)}</td></tr>" for name, text in seal_rows(seal)
    )
    return f"<h2>Seal of this record</h2><table class=seal>{rows}</table><p>End of the record.</p>"


_ANSWER = "answer"
_METHOD = "method"
_EXPLORED = "what-if"
"""The tag of a cell that is of use to somebody at the notebook alone; the text before it belongs to it."""


def _answer_leads(notebook: Mapping[str, Any]) -> bool:
    return any(cell.get("id") == _ANSWER and cell.get("outputs") for cell in notebook["cells"])


def _answer_first(cells: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """The page of a notebook that shows its answer: without its set-up, its sources and what is explored in it.

    What a cell before the answer shows is on the page all the same.
    """
    start = next(number for number, cell in enumerate(cells) if cell.get("id") == _ANSWER)
    nothing: Mapping[str, Any] = {}
    for cell, following in zip(cells, [*cells[1:], nothing], strict=True):
        start -= 1
        is_text = cell["cell_type"] == "markdown"
        if is_text and (start >= 0 or _EXPLORED in _tags(following)):
            continue
        if is_text and cell.get("id") == _METHOD:
            yield f"<details><summary>Method and sources</summary>{_text(cell)}</details>"
        elif is_text:
            yield _text(cell)
        elif _EXPLORED not in _tags(cell):
            yield from _outputs(output for output in cell.get("outputs", ()) if not _is_result(output))


def _every_cell(cells: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """The page of any other notebook: all that it shows, its sources folded."""
    for cell in cells:
        if cell["cell_type"] == "markdown":
            yield _text(cell)
        elif cell["cell_type"] == "code":
            source = escape(joined(cell.get("source", "")))
            yield f"<details class=source><summary>code</summary><pre>{source}</pre></details>"
            yield from _outputs(cell.get("outputs", ()))


def _tags(cell: Mapping[str, Any]) -> Sequence[str]:
    return cell.get("metadata", {}).get("tags") or ()


def _text(cell: Mapping[str, Any]) -> str:
    return f"<section>{inert_html(_render(joined(cell.get('source', ''))))}</section>"


def _outputs(outputs: Iterable[Mapping[str, Any]]) -> Iterator[str]:
    for output in outputs:
        shown = _output(output)
        # a table or a picture may be wider than the screen, and a keyboard alone must be able to move it
        reached = " tabindex=0" if "<table" in shown or "<img" in shown else ""
        yield f"<div class=output{reached}>{shown}</div>"


def _is_result(output: Mapping[str, Any]) -> bool:
    """Whether an output is the result as JSON, which the card shows."""
    return MIME_TYPE in output.get("data", {})


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
        return inert_html(joined(data["text/html"]))
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
