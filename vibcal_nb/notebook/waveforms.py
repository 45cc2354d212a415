"""What the waveform notebook calls: open a visit's waveforms, read them, and add the readings to its table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from vibcal_nb.analysis.readings.waveform_reading import WaveformReading, read_waveform
from vibcal_nb.analysis.refusal import AnalysisRefused
from vibcal_nb.display.waveforms.waveform_plots import DrawnRecord
from vibcal_nb.inputs.load_asset import find_asset_folders, load_asset_folder, load_visit_file
from vibcal_nb.inputs.load_waveform import SampledPair, load_waveform
from vibcal_nb.inputs.read_waveform_list import Waveform, read_waveform_list
from vibcal_nb.model.asset import Asset
from vibcal_nb.notebook.frame.parameters import check_parameters, require_number
from vibcal_nb.notebook.frame.refusals import show_refusals_plainly
from vibcal_nb.notebook.show import show
from vibcal_nb.notebook.show import show_waveforms as waveforms
from vibcal_nb.problems import InputRefused, ParameterError, Problem
from vibcal_nb.records.reading_table.append_readings import append_readings


@dataclass(frozen=True, kw_only=True, eq=False)
class OpenedWaveform:
    """One file with its signals and what was read off them; amplitudes in the units that waveforms.toml states."""

    waveform: Waveform
    signals: SampledPair
    reading: WaveformReading

    @property
    def applied(self) -> float:
        """Level of the reference, peak, in its unit."""
        return self.reading.applied * abs(self.signals.reference_scale)

    @property
    def output(self) -> float:
        """Output in its unit: peak of a sine, mean of a dc output."""
        scale = self.signals.output_scale
        return self.reading.read * (scale if self.reading.output_is_dc else abs(scale))


def open_waveforms(
    namespace: Mapping[str, Any], *, visit_folder: str, tolerance_pct: float, append_to_table: bool
) -> tuple[OpenedWaveform, ...]:
    """Read every waveform that ``waveforms/waveforms.toml`` of the visit lists.

    Raises ``ParameterError``, ``InputRefused`` with every problem, shown as sentences.
    """
    show_refusals_plainly()
    check_parameters(namespace, ("visit_folder", "tolerance_pct", "append_to_table"))
    require_number("tolerance_pct", tolerance_pct, lambda pct: 0.0 < pct <= 20.0, wanted="a number above 0 up to 20")
    if not isinstance(append_to_table, bool):
        raise ParameterError(f"The parameter append_to_table is {append_to_table!r}; give True or False.")
    listed = read_waveform_list(Path(visit_folder), asset=_asset(visit_folder))
    opened, problems = [], []
    for waveform in listed:
        try:
            opened.append(open_waveform(waveform, tolerance_pct=tolerance_pct))
        except AnalysisRefused as error:
            sentence = str(error).rstrip(".")
            sentence = sentence[:1].lower() + sentence[1:]
            found, _, remedy = sentence.partition("; ")
            name = f"waveforms/{waveform.file.name}"
            problems.append(Problem(file=name, found=f"this: {found}", remedy=remedy or "record again"))
    if problems:
        raise InputRefused(problems)
    return tuple(opened)


def _asset(visit_folder: str) -> Asset:
    return load_asset_folder(find_asset_folders(Path(visit_folder))[0]).asset


def open_waveform(waveform: Waveform, *, tolerance_pct: float) -> OpenedWaveform:
    """Read one file. Raises ``InputRefused``, ``AnalysisRefused`` with a sentence."""
    signals = load_waveform(waveform)
    reading = read_waveform(
        signals.reference,
        signals.output,
        sampling_hz=signals.sampling_hz,
        start_hz=waveform.frequency_hz,
        output_is_dc=waveform.output.unit.detector == "dc",
        tolerance_pct=tolerance_pct,
    )
    return OpenedWaveform(waveform=waveform, signals=signals, reading=reading)


def reading_row(opened: OpenedWaveform) -> dict[str, str | float]:
    """Return the row of the reading table that a waveform gives, by column."""
    waveform, reading = opened.waveform, opened.reading
    begin, end = reading.settled_s
    findings = "".join(f"; {finding}" for finding in reading.findings)
    return {
        "channel": waveform.channel,
        "test": waveform.test,
        "condition": waveform.condition,
        "frequency_hz": float(f"{reading.frequency_hz:.7g}"),
        "applied": float(f"{opened.applied:.6g}"),
        "applied_unit": waveform.reference.unit.text,
        "output": float(f"{opened.output:.6g}"),
        "output_unit": waveform.output.unit.text,
        "standard_uncertainty_pct": float(f"{reading.u_pct:.2g}"),
        "thd_pct": float(f"{100.0 * reading.reference_distortion.thd_f:.2g}"),
        "harmonics_pct": float(f"{100.0 * reading.reference_distortion.harmonic_sum:.2g}"),
        **_phase(reading),
        "note": f"from {waveform.file.name}, {begin:.2f} to {end:.2f} s{findings}",
    }


def _phase(reading: WaveformReading) -> dict[str, str | float]:
    """The phase and its standard uncertainty; none of an output that is dc."""
    if reading.phase_deg is None:
        return {}
    return {
        "phase_deg": float(f"{reading.phase_deg:.3f}"),
        "phase_standard_uncertainty_deg": float(f"{reading.u_phase_deg:.2g}"),
    }


def append_waveforms(opened: Sequence[OpenedWaveform], *, visit_folder: str, append_to_table: bool) -> str:
    """Add the readings to the visit's table where ``append_to_table`` says so; return a sentence on what was done.

    A reading that the table already holds is refused by the table's own check on repeated readings.
    """
    rows = [reading_row(item) for item in opened]
    if not append_to_table:
        return f"{len(rows)} readings are ready; set append_to_table to True to add them to the reading table."
    visit = load_visit_file(Path(visit_folder))
    path = append_readings(Path(visit_folder), rows, asset=_asset(visit_folder), columns=visit.columns)
    return f"{len(rows)} readings were added to {path.name}."


def show_readings(opened: Sequence[OpenedWaveform]) -> None:
    """Show the rows that the waveforms give, and how the sines fit."""
    waveforms.show_rows([reading_row(item) for item in opened])
    waveforms.show_fits(_named(opened))


def show_signals(opened: Sequence[OpenedWaveform]) -> None:
    """Show each record, which part of it was used, and what was fitted to it."""
    waveforms.show_records(drawn_records(opened))


def drawn_records(opened: Sequence[OpenedWaveform]) -> list[DrawnRecord]:
    """Return the records as they are drawn."""
    return [
        DrawnRecord(
            name=item.waveform.file.name,
            reference=item.signals.reference,
            output=item.signals.output,
            reading=item.reading,
        )
        for item in opened
    ]


def _named(opened: Sequence[OpenedWaveform]) -> list[tuple[str, WaveformReading]]:
    return [(item.waveform.file.name, item.reading) for item in opened]


def show_appended(opened: Sequence[OpenedWaveform], *, visit_folder: str, append_to_table: bool) -> None:
    """Add the readings to the visit's table where asked, and show what was done."""
    show.sentence(append_waveforms(opened, visit_folder=visit_folder, append_to_table=append_to_table))
