"""Sampled signals of a visit: waveforms/waveforms.toml says what each file holds."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.inputs.tags import find_tag
from vibcal_nb.model.asset import Asset
from vibcal_nb.model.keys.waveform_keys import WAVEFORM_FILE
from vibcal_nb.problems import InputRefused, Problem, one_of, shown
from vibcal_nb.units import Unit

LIST = "waveforms/waveforms.toml"
TEXTS = (".csv", ".txt", ".tsv", ".asc", ".dat")
KINDS = (".wav", *TEXTS, ".npz", ".uff", ".unv", ".uf", ".mat", ".h5", ".hdf5", ".hdf")


@dataclass(frozen=True, kw_only=True)
class Track:
    """One signal of a file, by its name there; 1 in the file is ``scale`` of ``unit``.

    Integers of a WAV file are taken relative to full scale, -1 to 1. A sine is read as its peak in the unit's symbol;
    a dc unit as its mean.
    """

    name: str
    scale: float
    unit: Unit


@dataclass(frozen=True, kw_only=True)
class Waveform:
    """One record of reference and channel, and what it is a reading of.

    ``sampling_hz`` is None where the file states it; ``frequency_hz`` a start for the fit, None to find it.
    """

    file: Path
    channel: str
    test: str
    condition: str
    reference: Track
    output: Track
    sampling_hz: float | None = None
    frequency_hz: float | None = None


def read_waveform_list(visit_folder: Path, *, asset: Asset) -> tuple[Waveform, ...]:
    """Read what the waveform files of a visit hold. Raises ``InputRefused`` with every problem."""
    problems: list[Problem] = []
    path = visit_folder / LIST
    if not path.resolve().is_relative_to(visit_folder.resolve()):
        remedy = "put the files themselves there"
        raise InputRefused([Problem(file=LIST, found="a link that leads out of the visit's folder", remedy=remedy)])
    values = load_toml(path, problems)
    if values is None:
        raise InputRefused(problems)
    root = TomlTable.of_file(WAVEFORM_FILE, LIST, values, problems)
    found = [_read_waveform(table, path.parent, asset) for table in root.tables("waveform")]
    root.finish()
    if root.values.get("waveform") == []:
        root.note("waveform", "nothing", "give a [[waveform]] table for each file")
    if problems:
        raise InputRefused(problems)
    return tuple(item for item in found if item is not None)


def _read_waveform(table: TomlTable, folder: Path, asset: Asset) -> Waveform | None:
    before = len(table.problems)
    name, channel = table.text("file"), table.text("channel")
    fields = table.read("test", "condition", "sampling_hz", "frequency_hz")
    reference, output = read_track(table, "reference"), read_track(table, "output")
    table.finish()
    if channel and channel not in asset.channels:
        table.note("channel", shown(channel), one_of(channel, asset.channels))
    _check_file(table, name, folder)
    check_units(table, reference, output)
    if len(table.problems) > before or reference is None or output is None:
        return None
    return Waveform(
        file=_file(folder, name),
        channel=channel,
        reference=reference,
        output=output,
        **fields,
    )


def _check_file(table: TomlTable, name: str, folder: Path) -> None:
    if not name:
        return
    if Path(name).name != name or not (folder / name).resolve().is_relative_to(folder.resolve()):
        table.note("file", shown(name), "give the name of a file in the folder waveforms")
    elif Path(name).suffix.lower() not in KINDS:
        table.note("file", shown(name), f"give a file of the kind {', '.join(KINDS)}")
    elif not _file(folder, name).is_file():
        table.note("file", f"no file {shown(name)}", "put it into the folder waveforms")


def _file(folder: Path, name: str) -> Path:
    """The file of this name, in whatever form the system that it comes from writes accents."""
    if (folder / name).is_file() or name.isascii() or not folder.is_dir():
        return folder / name
    return folder / (find_tag(name, (path.name for path in folder.iterdir())) or name)


def read_track(table: TomlTable, key: str) -> Track | None:
    """Read one signal of a file; None, with the problem noted, where it cannot be used."""
    part = table.table(key)
    if part is None:
        return None
    before = len(part.problems)
    name, scale, unit = part.text("track"), part.number("scale"), part.unit("unit")
    part.finish()
    if scale == 0.0:
        part.note("scale", "0", "give what 1 in the file is, in the unit")
    if len(part.problems) > before or scale is None or unit is None:
        return None
    return Track(name=name, scale=scale, unit=unit)


def check_units(table: TomlTable, reference: Track | None, output: Track | None) -> None:
    """Note units that no sine is read in."""
    if reference is not None and (not reference.unit.is_vibration or reference.unit.detector != "pk"):
        table.note("reference.unit", shown(reference.unit), "give a vibration with detector pk, such as 'm/s2 pk'")
    if output is not None and (output.unit.is_vibration or output.unit.detector not in ("pk", "dc")):
        table.note("output.unit", shown(output.unit), "give an electrical unit with detector pk or dc, such as 'mV pk'")
