"""One case of fuzzing: a good visit with one file changed; it is read rightly or refused in sentences."""

from __future__ import annotations

import csv
import io
import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from random import Random

from tests.fuzzing.mutations import mutate_bytes, mutate_rows, mutate_toml
from tests.fuzzing.sentences import check_sentences
from tests.support.sites.plants import ASSET, EQUIPMENT, HEADINGS, VISIT, build_site, linearity_rows
from vibcal_nb.analysis.band_response.band_response import analyse_band_response
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.sensor_alone.sensor_alone import analyse_sensor_alone
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.metrology.conformity.decision import VERDICTS
from vibcal_nb.model.case import list_cases, select_case
from vibcal_nb.model.visit_folder import VisitFolder
from vibcal_nb.problems import InputRefused

ANALYSE = {
    "linearity": analyse_linearity,
    "band-response": analyse_band_response,
    "sensor-alone": analyse_sensor_alone,
}
_RICH_VISIT = f"""{VISIT}
ambient_c = 21.5
notes = "calm"
[decision]
rule = "guarded"
r = 0.83
[columns]
"Freq" = "frequency_hz"
[contributions.mounting]
value_pct = 0.3
distribution = "rectangular"
kind = "independent"
source = "judgement"
"""
_BAND = [(10, 4.6), (20, 14.2), (40, 19.4), (80, 20.0), (160, 19.8), (250, 18.5), (400, 14.1), (800, 4.8)]
ROWS = [
    *linearity_rows(),
    *(f"STG-1-V11,band-response,as-found,{hz},5.00,mm/s pk,{mv},mV pk,,,," for hz, mv in _BAND),
    *(f"STG-1-V11,sensor-alone,as-found,{hz},10.0,m/s2 pk,{50 + hz / 400:.2f},pC pk,,,," for hz, _ in _BAND),
]
CELLS = [HEADINGS.replace("frequency_hz", "Freq").split(","), *(row.split(",") for row in ROWS)]


def write_csv(rows: list[list[str]], *, separator: str = ",") -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=separator, lineterminator="\n").writerows(rows)
    return text.getvalue().encode("utf-8", "surrogatepass")


def write_xlsx(rows: list[list[str]], random: Random) -> bytes:
    """Write the rows as a workbook whose numbers are numbers, or now and then texts."""
    import openpyxl
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet()
    for row in rows:
        sheet.append([_cell(ILLEGAL_CHARACTERS_RE.sub("", cell), random) for cell in row])
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _cell(text: str, random: Random) -> object:
    try:
        number = float(text)
    except ValueError:
        return text
    return number if math.isfinite(number) and random.random() < 0.9 else text


def _toml(text: str) -> Callable[[Random], bytes]:
    values = tomllib.loads(text)

    def mutate(random: Random) -> bytes:
        if random.random() < 0.5:
            return mutate_bytes(text.encode(), random)
        return mutate_toml(values, random).encode("utf-8", "surrogatepass")

    return mutate


def _csv_bytes(random: Random) -> bytes:
    return mutate_bytes(write_csv(CELLS, separator=random.choice(",;\t")), random)


def _xlsx(random: Random) -> bytes:
    good = write_xlsx(CELLS, random)
    return mutate_bytes(good, random) if random.random() < 0.5 else write_xlsx(mutate_rows(CELLS, random), random)


MUTATE: dict[str, tuple[str, Callable[[Random], bytes]]] = {
    "equipment.toml": ("equipment.toml", _toml(EQUIPMENT)),
    "asset.toml": ("STG-1/asset.toml", _toml(ASSET)),
    "visit.toml": ("STG-1/2026-05-19/visit.toml", _toml(_RICH_VISIT)),
    "readings.csv, bytes": ("STG-1/2026-05-19/readings.csv", _csv_bytes),
    "readings.csv, cells": ("STG-1/2026-05-19/readings.csv", lambda random: b""),
    "readings.xlsx": ("STG-1/2026-05-19/readings.xlsx", _xlsx),
}


def load_or_refuse(visit: Path) -> VisitFolder | None:
    """Load a visit; None where it is refused, which must be in sentences."""
    try:
        return load_visit(visit)
    except InputRefused as refused:
        check_sentences(str(refused))
        return None


def try_case(kind: str, seed: int, site: Path) -> str:
    """Try one case in the site's folder; return 'accepted' or 'refused'.

    Anything but right numbers or plain sentences raises AssertionError or whatever the package let out.
    """
    random = Random(f"{kind} {seed}")
    visit = build_site(site, [], visit=_RICH_VISIT)
    table = visit / "readings.csv"
    (visit / "readings.xlsx").unlink(missing_ok=True)
    table.write_bytes(write_csv(CELLS))
    cells, separator = None, ","
    name, mutate = MUTATE[kind]
    if kind == "readings.csv, cells":
        cells, separator = mutate_rows(CELLS, random), random.choice(",;\t")
        table.write_bytes(write_csv(cells, separator=separator))
    else:
        if name.endswith("xlsx"):
            table.unlink()
        (site / name).write_bytes(mutate(random))
    folder = load_or_refuse(visit)
    if folder is None:
        return "refused"
    check_numbers(folder, cells)
    check_analyses(folder)
    return "accepted"


def check_numbers(folder: VisitFolder, cells: list[list[str]] | None) -> None:
    """What was read is finite and positive where it must be, and is the number that the cell held."""
    for reading in folder.table.readings:
        assert math.isfinite(reading.frequency_hz) and reading.frequency_hz > 0.0
        assert math.isfinite(reading.applied) and math.isfinite(reading.output)
        if cells is None:
            continue
        typed = dict(zip(cells[0], cells[reading.row - 1], strict=False))
        for heading, value in (
            ("Freq", reading.frequency_hz),
            ("applied", reading.applied),
            ("output", reading.output),
        ):
            assert value == float(typed[heading].replace(",", ".")), (heading, typed[heading], value)
        assert typed["applied_unit"].split() == reading.applied_unit.text.split()


def check_analyses(folder: VisitFolder) -> None:
    """Whatever was accepted is analysed to a verdict with finite numbers."""
    for tag, test, condition in list_cases(folder):
        if test in ANALYSE:
            try:
                case = select_case(folder, channel=tag, test=test, condition=condition)
                result = ANALYSE[test](case)
            except (LookupError, ValueError) as refused:
                assert str(refused).endswith("."), refused
                continue
            assert result.verdict in VERDICTS
            _check_entry(result)


def _check_entry(result: object) -> None:
    import json

    from vibcal_nb.records.quantities.result_entry import result_entry

    json.dumps(result_entry(result), allow_nan=False)  # type: ignore[arg-type]
