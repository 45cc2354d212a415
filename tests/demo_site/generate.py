"""Write the demo site: ``python -m tests.demo_site.generate [OUT]`` (default ``data_demo``)."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.demo_site import relays
from tests.demo_site.auxiliary import KINDS, micrometers_text, write_train
from tests.demo_site.items import items_text
from tests.demo_site.old_tables import write_old_tables
from tests.demo_site.simulate import Row, simulate_visit
from tests.demo_site.site import ASSETS, CERTIFICATES, FIRST_LINE, INJECTOR, AssetPlan, Table, VisitPlan
from tests.demo_site.waveforms import DAY, write_waveforms
from tests.demo_site.workbook import write_workbook

COLUMNS = (
    *("channel", "test", "condition", "frequency_hz", "applied", "applied_unit", "output", "output_unit"),
    *("direction", "repeat", "exclude", "note"),
    *relays.RELAY_COLUMNS,
)
NUMERIC = {"frequency_hz", "applied", "output", "repeat", "delay_s", "value"}


SITE_TEXT = """# Kestrel Fold district-energy plant: invented site and people. Who calibrates for whom, and who reviews.

country = "GB"
place = "customer"

[laboratory]
name = "Kestrel Fold instrument workshop"
street = "Boiler House Lane 1"
city = "Kestrel Fold"
country = "GB"

[customer]
name = "Kestrel Fold district-energy plant"
street = "Boiler House Lane 1"
city = "Kestrel Fold"
country = "GB"

[review]
same_person = false
reviewers = ["Engineer D"]
"""


def write_site(out: Path) -> None:
    """Write all files of the site under ``out``."""
    _write(out / "site.toml", SITE_TEXT)
    _write(out / "equipment.toml", equipment_text())
    _write(out / "kinds.toml", kinds_text())
    write_old_tables(out / "old_tables")
    write_train(out)
    for asset in ASSETS:
        _write(out / asset.tag / "asset.toml", asset_text(asset))
        for visit in asset.visits:
            folder = out / asset.tag / visit.day
            trail = relays.VISIT_TEXT if (asset.tag, visit.day) == (relays.ASSET, relays.DAY) else ""
            _write(folder / "visit.toml", visit_text(visit) + trail)
            _write_table(folder, visit, _as_tagged_then(asset, visit, simulate_visit(asset, visit)))
            if (asset.tag, visit.day) == ("STG-1", DAY):
                write_waveforms(folder / "waveforms", visit)


def equipment_text() -> str:
    """Text of ``equipment.toml``: one entry a certificate, and the shakers."""
    parts = [FIRST_LINE]
    for year, (calibrated, due) in CERTIFICATES.items():
        dates = f"calibrated = {calibrated}\ndue = {due}\n"
        parts.append(
            f'[[reference]]\nid = "REF-{year}"\nkind = "reference accelerometer, built into the shaker"\n'
            f'serial = "KF-0417"\n{dates}uncertainty = [\n'
            "    { from_hz = 1, to_hz = 10, expanded_pct = 2.0, k = 2 },\n"
            "    { from_hz = 10, to_hz = 2000, expanded_pct = 1.0, k = 2 },\n"
            "    { from_hz = 2000, to_hz = 10000, expanded_pct = 2.0, k = 2 },\n]\n"
            "drift_pct_per_year = 0.2\n"
        )
        parts.append(
            f'[[readout]]\nid = "DVM-{year}"\nkind = "voltmeter"\nserial = "KF-0932"\n{dates}'
            "expanded_pct = 0.2\nk = 2\n"
        )
    parts.append(
        f'[[reference]]\nid = "{INJECTOR}"\nkind = "charge source, a voltage through a standard capacitor"\n'
        'serial = "KF-1108"\nquantity = "charge"\ncalibrated = 2026-01-12\ndue = 2027-01-11\n'
        "uncertainty = [{ from_hz = 1, to_hz = 10000, expanded_pct = 0.5, k = 2 }]\ndrift_pct_per_year = 0.1\n"
    )
    parts.append(micrometers_text())
    parts.append(
        '[[shaker]]\nid = "SHK-1"\nforce_n = 45\narmature_kg = 0.2\nstroke_mm_pkpk = 2.5\n'
        "velocity_mm_s_pk = 380\nfrom_hz = 7\nto_hz = 10000\npayload_kg = 4.8\n"
    )
    parts.append(
        '[[shaker]]\nid = "SHK-2"\nforce_n = 60\narmature_kg = 0.9\nstroke_mm_pkpk = 40\n'
        "from_hz = 0.5\nto_hz = 200\npayload_kg = 2.0\n"
    )
    return "\n".join(parts)


def kinds_text() -> str:
    """Text of ``kinds.toml``: what the channels of each asset share."""
    return FIRST_LINE + "".join(_kind_text(asset) for asset in ASSETS) + KINDS


def _kind_text(asset: AssetPlan) -> str:
    text = f'\n[{asset.kind}]\ninput_unit = "{asset.units[0]}"\noutput_unit = "{asset.units[1]}"\n'
    text += f"nominal_sensitivity = {asset.nominal}\noutput_zero = {asset.zero}\n{asset.specification}"
    text += f"\n[{asset.kind}.band]\n{asset.band}"
    if asset.sensor is not None:
        units = f'input_unit = "{asset.sensor_units[0]}"\noutput_unit = "{asset.sensor_units[1]}"\n'
        text += f"\n[{asset.kind}.sensor]\n{units}{asset.sensor}"
    if asset.module is not None:
        text += f"\n[{asset.kind}.module]\n{asset.module}"
    text += relays.KIND_TEXT if asset.tag == relays.ASSET else ""
    return text + (f"\n{asset.restated}" if asset.restated else "")


def asset_text(asset: AssetPlan) -> str:
    """Text of ``asset.toml``."""
    lines = [f'{FIRST_LINE}\n[asset]\ntag = "{asset.tag}"\nname = "{asset.name}"\n\n[rotors]\n']
    lines += [f'"{name}" = {{ speed_rpm = {rpm} }}\n' for name, rpm in asset.rotors.items()]
    for name, (location, rotors) in asset.channels.items():
        key = f"channels.{asset.tag}-{name}"
        quoted = ", ".join(f'"{rotor}"' for rotor in rotors)
        lines.append(f'\n[{key}]\nkind = "{asset.kind}"\nlocation = "{location}"\nrotors = [{quoted}]\n')
        if name in asset.renamed:
            lines.append(f'formerly = "{asset.tag}-{asset.renamed[name][0]}"\n')
        lines.append(f"[{key}.items]\n{items_text(asset.tag, name, asset.installed)}{asset.own.get(name, '')}")
    return "".join(lines) + asset.retired + (relays.GROUP_TEXT if asset.tag == relays.ASSET else "")


def _as_tagged_then(asset: AssetPlan, visit: VisitPlan, rows: list[Row]) -> list[Row]:
    """The rows with the tags that the channels had at the visit."""
    older = {
        f"{asset.tag}-{name}": f"{asset.tag}-{tag}" for name, (tag, year) in asset.renamed.items() if visit.year <= year
    }
    return [row | {"channel": older.get(row["channel"], row["channel"])} for row in rows]


def visit_text(visit: VisitPlan) -> str:
    """Text of ``visit.toml``."""
    year = visit.year % 100
    names = [f"REF-{year}", f"DVM-{year}", *([INJECTOR] if visit.injected else [])]
    used = ", ".join(f'"{name}"' for name in names)
    text = (
        f'{FIRST_LINE}\ndate = {visit.day}\nperformed_by = "{visit.performed_by}"\n'
        'reviewed_by = "Engineer D"\n'
        f"ambient_c = {visit.ambient_c}\nequipment = [{used}]\n"
        f"\n[decision]\n{visit.rule}\n"
    )
    if visit.table.headings:
        text += "\n[columns]\n" + "".join(f'"{typed}" = "{name}"\n' for name, typed in visit.table.headings)
    return text


def _write_table(folder: Path, visit: VisitPlan, rows: list[Row]) -> None:
    table = visit.table
    columns = [c for c in COLUMNS if any(row.get(c) for row in rows)]
    headings = [dict(table.headings).get(name, name) for name in columns]
    cells = [headings] + [[row.get(c, "") for c in columns] for row in rows]
    if table.workbook:
        write_workbook(folder / "readings.xlsx", cells, numeric=NUMERIC, written=visit.day)
        return
    marks = [c in NUMERIC for c in columns]
    lines = [
        table.separator.join(_cell(text, n and row > 0, table) for text, n in zip(line, marks, strict=True))
        for row, line in enumerate(cells)
    ]
    _write(folder / "readings.csv", "\n".join(lines) + "\n", encoding=table.encoding)


def _cell(text: str, number: bool, table: Table) -> str:
    if number:
        return text.replace(".", table.decimal)
    return f'"{text}"' if table.separator in text else text


def _write(path: Path, text: str, *, encoding: str = "utf-8") -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.encode(encoding))


if __name__ == "__main__":
    write_site(Path(sys.argv[1] if len(sys.argv) > 1 else "data_demo"))
