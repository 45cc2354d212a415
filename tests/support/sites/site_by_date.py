"""A small site with visits by date: what a channel was before and after something changed."""

from __future__ import annotations

from datetime import date

from tests.support.sites.plants import ASSET, EQUIPMENT, HEADINGS, VISIT, build_site, linearity_rows

OLD, NEW = date(2024, 5, 21), date(2026, 5, 19)
BAND = [(20, 14.2), (40, 19.4), (80, 20.0), (160, 19.8), (200, 19.5), (400, 14.1)]
ROWS = [
    *linearity_rows(),
    *(f"STG-1-V11,band-response,as-found,{hz},5.00,mm/s pk,{mv},mV pk,,,," for hz, mv in BAND),
    *(f"STG-1-V11,sensor-alone,as-found,{hz},10.0,m/s2 pk,{50 + hz / 400:.2f},pC pk,,,," for hz, _ in BAND),
]


def add_visit(folder, day, rows=ROWS):
    home = folder / "STG-1" / day.isoformat()
    home.mkdir(parents=True, exist_ok=True)
    (home / "visit.toml").write_text(VISIT.replace("2026-05-19", day.isoformat()), encoding="utf-8")
    (home / "readings.csv").write_text("\n".join([HEADINGS, *rows]) + "\n", encoding="utf-8")
    return home


def site(folder, *, asset=ASSET):
    build_site(folder, ROWS, asset=asset, equipment=EQUIPMENT.replace("2026-01-10", "2024-01-10"))
    return add_visit(folder, OLD)
