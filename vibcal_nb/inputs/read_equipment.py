"""equipment.toml: references, readouts and shakers of a site."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from vibcal_nb.inputs.certificates.read_certificate import CertificateRefused
from vibcal_nb.inputs.certificates.reference_certificate import (
    ReferenceCertificate,
    misfits,
    open_reference_certificate,
)
from vibcal_nb.inputs.files.toml_table import TomlTable, expected, load_toml
from vibcal_nb.inputs.reference.read_sensitivity import bands, certified, read_sensitivity
from vibcal_nb.model.equipment import (
    DISPLACEMENT,
    Display,
    Equipment,
    Offset,
    Readout,
    Reference,
    ReferenceBand,
    Shaker,
)
from vibcal_nb.model.keys.equipment_keys import EQUIPMENT_FILE
from vibcal_nb.problems import Problem, shown


def read_equipment(path: Path, problems: list[Problem]) -> Equipment | None:
    """Read an equipment file, noting every problem; None where there is one."""
    values = load_toml(path, problems)
    if values is None:
        return None
    before = len(problems)
    root = TomlTable.of_file(EQUIPMENT_FILE, path.name, values, problems)
    references = [_read_reference(table, path.parent) for table in root.tables("reference")]
    readouts = [_read_readout(table) for table in root.tables("readout")]
    shakers = [_read_shaker(table) for table in root.tables("shaker")]
    root.finish()
    if len(problems) == before:
        _check_ids(root, [item.id for item in (*references, *readouts, *shakers) if item is not None])
        _check_read_by(root, references, [item.id for item in readouts if item is not None])
    if len(problems) > before:
        return None
    return Equipment(
        references=tuple(item for item in references if item is not None),
        readouts=tuple(item for item in readouts if item is not None),
        shakers=tuple(item for item in shakers if item is not None),
    )


def _check_ids(root: TomlTable, ids: list[str]) -> None:
    for name in dict.fromkeys(ids):
        if ids.count(name) > 1:
            root.note("id", f"the id '{name}' {ids.count(name)} times", "give each piece of equipment its own id")


def _check_read_by(root: TomlTable, references: Iterable[Reference | None], readouts: list[str]) -> None:
    for item in references:
        if item is not None and item.read_by is not None and item.read_by not in readouts:
            root.note("read_by", f"'{item.read_by}' at {item.id}", "give the id of a [[readout]], or leave it out")


_INSTRUMENT = ("id", "kind", "serial", "calibrated", "due")  # of references and readouts alike


def _read_instrument(table: TomlTable) -> dict[str, Any]:
    fields = {**table.read(*_INSTRUMENT), "certificate": table.optional_text("certificate")}
    fields["display"] = _read_display(table)
    if fields["calibrated"] and fields["due"] and fields["due"] < fields["calibrated"]:
        table.note("due", f"{fields['due']} before calibrated {fields['calibrated']}", "mend one of the dates")
    return fields


def _read_display(table: TomlTable) -> Display | None:
    given = table.read("display_step", "display_unit")
    for key, other in (("display_step", "display_unit"), ("display_unit", "display_step")):
        if key in table.values and other not in table.values:
            table.note(other, "nothing", f"give {expected(table.keys[other])} beside {key}, or leave both out")
    step, unit = given["display_step"], given["display_unit"]
    return None if step is None or unit is None else Display(step=step, unit=unit)


def _read_reference(table: TomlTable, site: Path) -> Reference | None:
    before = len(table.problems)
    read = _read_certificate(table, site)
    if "certificate_file" in table.values and not {"uncertainty", "expanded_um"} & set(table.values):
        table.give("uncertainty", None if read is None else read.bands())
    sensitivity = read_sensitivity(table)
    if "sensitivity" in table.values and not {"uncertainty", "expanded_um"} & set(table.values):
        table.give("uncertainty", [] if sensitivity is None else bands(sensitivity))
    fields = _read_instrument(table)
    fields |= table.read("quantity", "includes_readout", "drift_pct_per_year", "correlation", "expanded_um", "k")
    fields["read_by"] = table.optional_text("read_by")
    stretches = [_read_reference_band(item) for item in table.tables("uncertainty")]
    table.finish()
    if table.values.get("uncertainty") == [] and "sensitivity" not in table.values:
        table.note("uncertainty", "nothing", "give [{ from_hz, to_hz, expanded_pct, k }]")
    fields["uncertainty"] = tuple(sorted((b for b in stretches if b), key=lambda band: band.from_hz))
    for first, second in zip(fields["uncertainty"], fields["uncertainty"][1:], strict=False):
        if second.from_hz < first.to_hz:
            table.note(
                "uncertainty", f"ranges that overlap at {second.from_hz:g} Hz", "let each end where the next begins"
            )
    _check_micrometer(table)
    if len(table.problems) > before:
        return None
    if read is not None:
        fields["certificate_sha256"] = read.certificate.sha256
        fields["certificate"] = fields["certificate"] or read.name
        sensitivity = sensitivity or certified(read.sensitivity)
    return Reference(sensitivity=sensitivity, **fields)


def _read_certificate(table: TomlTable, site: Path) -> ReferenceCertificate | None:
    """Read the certificate that an entry names; what does not fit the entry is a problem of its own."""
    name = table.text("certificate_file")
    if not name:
        return None
    try:
        found = open_reference_certificate(site, name)
    except CertificateRefused as refused:
        said = str(refused).removesuffix(".")
        table.note("certificate_file", f"{shown(name)} ({said})", "mend that, or leave the key out")
        return None
    for key, what, remedy in misfits(found, table.values):
        table.note(key, what, remedy)
    return found


def _check_micrometer(table: TomlTable) -> None:
    """A displacement has an uncertainty in micrometres with its k, what is known over frequency has one in percent."""
    is_displacement = table.values.get("quantity") == DISPLACEMENT
    if is_displacement and "uncertainty" in table.values:
        table.note(
            "uncertainty", "an uncertainty by frequency of a displacement", "give expanded_um and k in its place"
        )
    if not is_displacement and "expanded_um" in table.values:
        remedy = f'give uncertainty by frequency in its place, or quantity = "{DISPLACEMENT}"'
        table.note("expanded_um", "an uncertainty in um of another quantity than displacement", remedy)
    for given, missing in (("expanded_um", "k"), ("k", "expanded_um")):
        if given in table.values and missing not in table.values:
            table.note(missing, "nothing", f"give it beside {given}")


def _read_reference_band(table: TomlTable) -> ReferenceBand | None:
    before = len(table.problems)
    fields = table.read("from_hz", "to_hz", "expanded_pct", "k")
    table.finish()
    if fields["from_hz"] and fields["to_hz"] and fields["from_hz"] >= fields["to_hz"]:
        table.note("from_hz", f"{fields['from_hz']:g} at or above to_hz {fields['to_hz']:g}", "swap them")
    return None if len(table.problems) > before else ReferenceBand(**fields)


def _read_readout(table: TomlTable) -> Readout | None:
    before = len(table.problems)
    fields = {**_read_instrument(table), **table.read("expanded_pct", "k", "drift_pct_per_year")}
    fields["offset"] = _read_offset(table)
    table.finish()
    return None if len(table.problems) > before else Readout(**fields)


_OFFSET = ("expanded_span_pct", "span", "span_unit")


def _read_offset(table: TomlTable) -> Offset | None:
    """What is stated in % of span: all three keys, or none."""
    pct, span, unit = table.read(*_OFFSET).values()
    missing = [name for name in _OFFSET if name not in table.values]
    if missing and len(missing) < len(_OFFSET):
        given = " and ".join(name for name in _OFFSET if name in table.values)
        table.note(missing[0], "nothing", f"give {expected(table.keys[missing[0]])} beside {given}")
    if pct is None or span is None or unit is None:
        return None
    return Offset(expanded=pct / 100.0 * span, unit=unit)


def _read_shaker(table: TomlTable) -> Shaker | None:
    before = len(table.problems)
    fields = table.read(*table.keys.names)
    table.finish()
    return None if len(table.problems) > before else Shaker(**fields)
