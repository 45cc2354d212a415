"""Text files of samples: heads above them, any separator, decimal commas, any common encoding."""

from __future__ import annotations

import re
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from vibcal_nb.inputs.files.table_files import SEPARATORS, find_encoding
from vibcal_nb.inputs.signals.tracks import MOST_TRACKS, SignalsRefused, Tracks, rate_of

HEAD_BYTES = 262_144  # in which the samples must begin
AGREEING = 2  # rows of numbers, one below the other, that are taken for samples
_NUMBER = re.compile(r"[+\-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+\-]?\d+)?")
_TIME = re.compile(r"(time|zeit|temps|t)[\s_]*[\[(]?\s*(s|ms|sec|us|µs)\s*[\])]?", re.IGNORECASE)
_SECONDS = {"s": 1.0, "sec": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6}


@dataclass(frozen=True)
class _Form:
    """How a text is laid out: rows before the samples, the separator, the decimal mark, names of the columns."""

    encoding: str
    skipped: int
    separator: str
    decimal: str
    names: tuple[str, ...]


def read_text_signals(path: Path) -> Tracks:
    """Read a text file. Raises ``SignalsRefused``, ``OSError``, and what the reader raises of a broken file."""
    import pandas as pd  # slow to import

    form = _find_form(path)
    with warnings.catch_warnings():
        warnings.simplefilter("error", pd.errors.ParserWarning)  # of rows longer than the headings
        table = pd.read_csv(
            path,
            sep=form.separator,
            decimal=form.decimal,
            encoding=form.encoding,
            encoding_errors="replace",
            skiprows=form.skipped,
            header=None,
            names=list(form.names),
            dtype=np.float64,
            index_col=False,
            skip_blank_lines=True,
        )
    signals = {name: table[name].to_numpy() for name in form.names}
    time = next(((name, found) for name in form.names if (found := _TIME.fullmatch(name.strip()))), None)
    if time is None:
        return Tracks(signals=signals)
    name, unit = time[0], time[1][2].lower()
    return Tracks(
        signals=signals, sampling_hz=rate_of(signals[name], name, first_row=form.skipped + 1, unit_s=_SECONDS[unit])
    )


def _find_form(path: Path) -> _Form:
    with path.open("rb") as file:
        data = file.read(HEAD_BYTES)
    whole = len(data) < HEAD_BYTES
    encoding = find_encoding(data if whole else data[: data.rfind(b"\n") + 1])
    text = data.decode(encoding, errors="replace").removeprefix("\ufeff")
    if "\0" in text:
        raise SignalsRefused("NUL bytes, which no text file has", "export the signals again as text")
    lines = text.splitlines()
    lines = lines if whole else lines[:-1]
    for separator in (*SEPARATORS, r"\s+"):
        start = _first_samples(lines, separator)
        if start is not None:
            return _form(lines, start, separator, encoding)
    raise SignalsRefused("no rows of numbers below each other", "give one row a sample, one column a signal")


def _split(line: str, separator: str) -> list[str]:
    cells = line.split() if separator == r"\s+" else line.split(separator)
    return [cell.strip().strip('"') for cell in cells]


def _first_samples(lines: list[str], separator: str) -> int | None:
    """The first of rows that hold as many numbers, two or more, and nothing else; a stray end of a row may be empty."""
    run = 0
    width = 0
    for number, line in enumerate(lines):
        cells = _split(line, separator)
        while cells and not cells[-1]:
            cells.pop()
        numbers = len(cells) >= 2 and all(_NUMBER.fullmatch(cell) for cell in cells)
        if separator == ",":
            numbers = numbers and not any("," in cell for cell in cells)
        run = run + 1 if numbers and (not run or len(cells) == width) else int(numbers)
        width = len(cells) if numbers else 0
        if run == AGREEING:
            return number - AGREEING + 1
    return None


def _form(lines: list[str], start: int, separator: str, encoding: str) -> _Form:
    cells = _split(lines[start], separator)
    width = len(cells)
    comma = separator != "," and any("," in cell for cell in cells)
    trailing = not cells[-1]
    names = _headings(lines[:start], separator, width - trailing)
    if width > MOST_TRACKS:
        raise SignalsRefused(f"{width} columns", "keep the columns of the signals")
    names += [f"column {i}" for i in range(len(names) + 1, width + 1)]
    return _Form(encoding, start, separator, "," if comma else ".", tuple(names))


def _headings(above: list[str], separator: str, width: int) -> list[str]:
    """The nearest row above that names as many columns; a row of units between is passed over. Else their numbers.

    Raises ``SignalsRefused`` where that row names the time and another number of columns: nobody knows which is which.
    """
    found: list[list[str]] = []
    for line in reversed([line for line in above if line.strip()]):
        cells = _split(line, separator)
        while len(cells) > width and not cells[-1]:
            cells.pop()
        if not found and len(cells) != width and any(_TIME.fullmatch(cell) for cell in cells):
            raise SignalsRefused(
                f"{width} numbers a row below {len(cells)} headings", "give each column of numbers its heading"
            )
        if len(cells) != width or len(set(cells)) != width or not all(cells):
            break
        found.append(cells)
        if len(found) == 2:
            break
    if not found:
        return [str(i) for i in range(1, width + 1)]
    units = len(found) == 2 and all(len(cell) <= 8 for cell in found[0])
    return list(found[1] if units else found[0])
