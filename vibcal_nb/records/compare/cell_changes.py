"""Cells that two records do not have alike, by the sums in their seals; the lines of their sources by nbdime's diff.

nbdime is the extra ``compare`` and is loaded where a source differs, and nowhere else.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import zip_longest
from typing import Any

from vibcal_nb.records.seal.page import joined
from vibcal_nb.records.seal.seal import cell_names

NOT_TOLD = "which lines of a source differ is not told: nbdime is missing; pip install 'vibcal_nb[compare]'"
_MOST_LINES = 2000
"""Lines of a source up to which its lines are compared."""
_MOST_TOLD = 20
_LONGEST = 200

_LOOKS = re.compile(r"cell '(?P<cell>[^']*)', (?P<part>source|output \d+, text/.*)")
_AT_RANDOM = re.compile(r"[0-9a-f]{8}")

Diff = Callable[[str, str], Any]
Patch = Callable[[str, Any], str]


def cell_changes(before: Any, after: Any, *, parts: tuple[Mapping[str, str], Mapping[str, str]]) -> Iterator[str]:
    """Yield cells that were added, taken out, or whose source or shown outputs differ, sources line by line.

    ``before`` and ``after`` are the records' content, ``parts`` the sums in their seals.
    """
    sums, now = map(_shown_sums, parts)
    sources = []
    for cell in {**sums, **now}:
        if cell not in sums or cell not in now:
            yield f"cell {cell}: {'in the earlier alone' if cell in sums else 'in the later alone'}"
            continue
        kinds = [kind for kind in ("source", "output") if sums[cell].get(kind) != now[cell].get(kind)]
        if kinds:
            yield f"cell {cell}: {' and '.join(kinds)} differ{'s' if len(kinds) == 1 else ''}"
        if "source" in kinds:
            sources.append(cell)
    if sources:
        yield from _lines(before, after, sources)


def _lines(before: Any, after: Any, names: Iterable[str]) -> Iterator[str]:
    tools = _tools()
    if tools is None:
        yield NOT_TOLD
        return
    for cell in names:
        yield from (f"cell {cell}, {said}" for said in _told(_source(before, cell), _source(after, cell), *tools))


def _shown_sums(parts: Mapping[str, str]) -> dict[str, dict[str, list[str]]]:
    """Sums of what a reader sees, by cell; one that was given at random has no name that a reader could look for."""
    found: dict[str, dict[str, list[str]]] = {}
    for name, value in parts.items():
        match = _LOOKS.fullmatch(name)
        if match and not _AT_RANDOM.fullmatch(match["cell"]):
            kind = "source" if match["part"] == "source" else "output"
            found.setdefault(match["cell"], {}).setdefault(kind, []).append(value)
    return found


def _source(notebook: Any, name: str) -> str:
    cells = dict(zip(cell_names(notebook["cells"]), notebook["cells"], strict=True))
    return joined(cells[name].get("source", ""))


def _tools() -> tuple[Diff, Patch] | None:
    """Return how nbdime compares texts by lines, and what applies its answer to one; None where it is missing."""
    try:
        from nbdime.diffing.sequences import diff_strings_linewise
        from nbdime.patching import patch_singleline_string
    except ImportError:
        return None
    return diff_strings_linewise, patch_singleline_string


def _told(before: str, after: str, diff: Diff, patch: Patch) -> list[str]:
    if max(before.count("\n"), after.count("\n")) >= _MOST_LINES:
        return [f"of more than {_MOST_LINES} lines: which of them differ is not told"]
    found = list(_line_changes(before, after, diff, patch))
    more = len(found) - _MOST_TOLD
    return found if more <= 0 else [*found[:_MOST_TOLD], f"and {more} more"]


def _line_changes(before: str, after: str, diff: Diff, patch: Patch) -> Iterator[str]:
    """Yield the lines that differ, by their numbers in the earlier source."""
    lines = before.splitlines(keepends=True)
    changed: dict[int, tuple[list[str], list[str]]] = {}
    for step in diff(before, after):
        removed, added = changed.setdefault(step["key"], ([], []))
        if step["op"] == "patch":
            removed.append(lines[step["key"]])
            added.append(patch(lines[step["key"]], step["diff"]))
        elif step["op"] == "addrange":
            added.extend(step["valuelist"])
        else:
            removed.extend(lines[step["key"] : step["key"] + step["length"]])
    for place, (removed, added) in changed.items():
        for number, (old, new) in enumerate(zip_longest(removed, added), start=place + 1):
            yield _line(number, old, new, last=place + len(removed))


def _line(number: int, old: str | None, new: str | None, *, last: int) -> str:
    if old is None:
        return f"{f'after line {last}' if last else 'at the beginning'} added: {_shown(new)}"
    if new is None:
        return f"line {number} taken out: {_shown(old)}"
    if _shown(old) == _shown(new):
        return f"line {number}: blanks, the end of the line or what stands behind {_LONGEST} characters"
    return f"line {number}: from {_shown(old)} to {_shown(new)}"


def _shown(line: str | None) -> str:
    text = (line or "").strip()
    return (text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…") or "an empty line"
