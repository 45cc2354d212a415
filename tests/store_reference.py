"""Write data_demo/README.md, the reference of files, keys, columns, units and results, from the code's own tables.

python -m tests.store_reference
"""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from types import ModuleType

from tests.support.places import DEMO
from vibcal_nb import units
from vibcal_nb.model.keys.files import FILES
from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.keys.reading_columns import READING_TABLE, SHEET_COLUMNS
from vibcal_nb.records.analyses import ANALYSES
from vibcal_nb.records.quantities import judged_points, result_entry, summary

PLACE = DEMO / "README.md"

HEAD = """# Files, keys, columns, units, results

The reference of every file that a person writes and of what `run` writes. It is made from the tables that the
software itself reads by (`python -m tests.store_reference`), so that it cannot say anything else. Beside it lies the
invented site **Kestrel Fold district-energy plant**, as an example of all of it.

    data_demo/                              a site
      site.toml                             who calibrates for whom, and who reviews (optional)
      equipment.toml                        references, readouts, shakers
      kinds.toml                            what several channels share (optional)
      STG-1/                                an asset
        asset.toml                          its rotors and channels: what each should do
        2026-05-19/                         a visit
          visit.toml                        who, when, with what, under which rule
          readings.csv   (or readings.xlsx) the reading table
          waveforms/                        sampled signals (optional)

A key that is not known is refused, with the nearest known one. Every problem of a folder is told at once.
**Needed** says whether a file is refused without the key; of keys joined by *or* one is given.
"""


def reference() -> str:
    """Return the whole reference as Markdown."""
    parts = [HEAD]
    for name, table in FILES.items():
        parts += [f"\n## {name}\n", *_table(table)]
    parts += ["\n## The reading table: readings.csv or readings.xlsx\n", READING, *_columns(READING_TABLE)]
    parts += ["\nA prepared sheet has these columns besides; they are read past.\n", *_columns(SHEET_COLUMNS)]
    parts += ["\n## Units\n", UNITS, *_units()]
    parts += ["\n## results.json\n", RESULTS, *_results()]
    text = "\n".join(part.rstrip("\n") for part in parts)
    return re.sub(r"(?m)^(?![|#\s])(.*)\n(?=\||#)|^(#.*)\n(?=[^\n])", r"\1\2\n\n", text) + "\n"


READING = """One row a reading, in any order. Comma, semicolon or tab; decimal comma where the separator is not a
comma; UTF-8 with or without a byte order mark, or Windows-1252. Rows count as a spreadsheet does: the headings are
row 1. Lines above the headings that begin with `#` are remarks. A row without an output is not yet read. Other headings
are mapped in `visit.toml` under `[columns]`, *heading in the table = column of this list*.
"""

UNITS = """A unit is a symbol and a detector: `mm/s pk`, `g rms`, `um pkpk`, `mA dc`. Without a detector it is refused:
peak and root mean square of a sine differ by 41 %. A gap is no amplitude and has none: `mm`, `um`, `mil`.
"""

RESULTS = """`run` writes `OUT/<asset>/<visit>/results.json`:
`{"schema": N, "asset": ..., "visit": ..., "results": [ ... ]}`. The same entry is inside the executed notebook, as an
output of the type `application/vnd.vibcal-nb.result+json`. Numbers have eight significant digits. What could not be
determined is `null`, with its reason in `undetermined`.
"""


def _table(table: KeyTable, seen: tuple[str, ...] = ()) -> Iterator[str]:
    yield f"{table.says}\n"
    yield "| key | value | needed | what left out means | says |\n|---|---|---|---|---|"
    yield from (_row(key) for key in table.keys)
    for key in table.keys:
        if key.table is not None and key.table.heading not in seen:
            yield f"\n### `{key.table.heading}`\n"
            yield from _table(key.table, (*seen, table.heading, key.table.heading))


def _row(key: Key) -> str:
    needed = f"yes, or `{key.instead_of}`" if key.required and key.instead_of else "yes" if key.required else ""
    default = "" if key.default is None or key.required else f"`{_shown(key.default)}`"
    return f"| `{key.name}` | {_value(key)} | {needed} | {default} | {_cell(key.says)} |"


def _columns(table: KeyTable) -> Iterator[str]:
    yield "| column | value | needed | says |\n|---|---|---|---|"
    for key in table.keys:
        needed = f"yes, or `{key.instead_of}`" if key.required and key.instead_of else "yes" if key.required else ""
        yield f"| `{key.name}` | {_value(key)} | {needed} | {_cell(key.says)} |"


def _value(key: Key) -> str:
    if key.table is not None:
        return f"{key.type} `{_cell(key.table.heading)}`"
    words = key.type + key.bounds + (f", {key.unit}" if key.unit else "")
    if key.choices:
        words += ": " + ", ".join(f"`{choice}`" for choice in key.choices)
    return _cell(words + (f"; for example `{key.example}`" if key.example else ""))


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple | list):
        return "[" + ", ".join(map(_shown, value)) + "]"
    return f'"{value}"' if isinstance(value, str) else f"{value:g}" if isinstance(value, float) else str(value)


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def _units() -> Iterator[str]:
    yield "| symbol | of | other spellings |\n|---|---|---|"
    for symbol, (quantity, _) in units._SYMBOLS.items():
        spellings = ", ".join(f"`{text}`" for text in units._SPELLINGS.get(symbol, ()))
        yield f"| `{symbol}` | {quantity} | {spellings} |"
    yield "\n| detector | means | spellings |\n|---|---|---|"
    means = {"pk": "peak", "rms": "root mean square", "pkpk": "peak to peak", "dc": "steady"}
    for name, text in means.items():
        spellings = ", ".join(f"`{_plain(part)}`" for part in units._DETECTORS[name].split("|"))
        yield f"| `{name}` | {text} | {spellings} |"


def _plain(pattern: str) -> str:
    return pattern.replace("\\.?", ".").replace("\\.", ".").replace("-?", "-")


def _results() -> Iterator[str]:
    for module in (result_entry, summary, judged_points, *(import_module(path) for path in ANALYSES.values())):
        for name, says, fields in documented(module):
            yield f"\n### {name}\n\n{says}\n\n| key | type | says |\n|---|---|---|"
            yield from (f"| `{key}` | {_cell(kind)} | {_cell(text)} |" for key, kind, text in fields)


def documented(module: ModuleType) -> Iterator[tuple[str, str, list[tuple[str, str, str]]]]:
    """Yield name, sentence and fields (name, type, sentence) of each typed entry that a module defines."""
    for node in ast.parse(Path(inspect.getsourcefile(module) or "").read_text(encoding="utf-8")).body:
        if isinstance(node, ast.ClassDef) and node.name.endswith(("Entry", "Summary")):
            fields = []
            for item, below in zip(node.body, node.body[1:], strict=False):
                if isinstance(item, ast.AnnAssign) and isinstance(item.target, ast.Name):
                    assert isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant), item.target.id
                    fields.append((item.target.id, ast.unparse(item.annotation), str(below.value.value)))
            base = ast.unparse(node.bases[0])
            says = ast.get_docstring(node) or ""
            yield node.name, says if base == "TypedDict" else f"{says} All of {base}, and:", fields


def main() -> None:
    """Write the reference."""
    PLACE.write_text(reference(), encoding="utf-8")


if __name__ == "__main__":
    main()
