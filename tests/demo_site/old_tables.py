"""An old workbook of the fan, as it was kept before: a sheet a channel, with what it worked out itself."""

from __future__ import annotations

from pathlib import Path

from tests.demo_site.simulate import Row, simulate_visit
from tests.demo_site.site import FDF, Table, VisitPlan
from tests.demo_site.workbook import Cell, Number, write_sheets

NAME = "FDF-3 May 2023.xlsx"
VISIT = VisitPlan(day="2023-05-09", performed_by="Technician B", ambient_c=16.0, table=Table())
SERIAL = "45055"  # 2023-05-09 as spreadsheets count days


def write_old_tables(folder: Path) -> None:
    """Write the workbook; its readings are those of a visit before the first one of the site."""
    rows = simulate_visit(FDF, VISIT)
    sheets = {
        channel: _sheet([row for row in rows if row["channel"] == f"FDF-3-{channel}" and not row.get("exclude")])
        for channel in FDF.channels
    }
    write_sheets(folder / NAME, sheets, written=VISIT.day)


def _sheet(rows: list[Row]) -> list[list[Cell]]:
    lines = [row for row in rows if row["test"] == "linearity"]
    band = [row for row in rows if row["test"] == "band-response"]
    cells: list[list[Cell]] = [
        ["KESTREL FOLD DISTRICT ENERGY"],
        ["Velocity transmitter check", "", "", "Date", Number(SERIAL)],
        ["Condition", "as received", "", "Sheet", Number("3")],
        [],
        ["1. Linearity at 1485 rpm"],
        ["Level", "Output", "Expected", "Dev.", "Remark"],
        ["mm/s rms", "mA dc", "mA", "%"],
    ]
    cells += [[Number(r["applied"]), Number(r["output"]), *_worked_out(r), ""] for r in lines]
    cells[-1][-1] = "let it settle longer next time"
    cells += [[], ["2. Frequency response at one level"], ["Freq.", "Level", "Output"], ["Hz", "mm/s rms", "mA dc"]]
    cells += [[Number(r["frequency_hz"]), Number(r["applied"]), Number(r["output"])] for r in band]
    return [*cells, ["checked:", "D"]]


def _worked_out(row: Row) -> tuple[Number, Number]:
    """What a channel exactly right puts out, and the deviation of the signal above 4 mA from it."""
    expected = FDF.zero + FDF.nominal * float(row["applied"])
    deviation = (float(row["output"]) - FDF.zero) / (expected - FDF.zero) - 1.0
    return Number(f"{expected:.3f}"), Number(f"{100.0 * deviation:.6f}", percentage=True)
