"""Readings from waveforms as a table and as figures: where the record is settled, and how the sines fit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from vibcal_nb.analysis.readings.waveform_reading import WaveformReading
from vibcal_nb.display.waveforms.waveform_plots import DrawnRecord, waveforms_picture
from vibcal_nb.display.writing.numbers import NONE, fixed, number
from vibcal_nb.display.writing.table import Row, Table
from vibcal_nb.notebook.show import show


def show_rows(rows: Sequence[dict[str, Any]]) -> None:
    """Show the rows of the reading table that the waveforms give, notes and findings included."""
    shown = tuple(
        Row(
            cells=(
                f"{row['channel']}, {row['test']}, {row['condition']}",
                f"{row['frequency_hz']:.3f} Hz",
                f"{number(row['applied'], digits=5)} {row['applied_unit']}",
                f"{number(row['output'], digits=5)} {row['output_unit']}",
                f"{row['standard_uncertainty_pct']:.2g} %",
                str(row["note"]),
            )
        )
        for row in rows
    )
    show.table(
        Table(
            caption="Readings for the reading table",
            headings=("channel, test, condition", "frequency", "applied", "output", "u of output/applied", "note"),
            rows=shown,
            text_columns=(0, 5),
            note="u: standard uncertainty of this reading's own; what the reference's certificate states comes on top.",
        )
    )


def show_fits(named: Sequence[tuple[str, WaveformReading]]) -> None:
    """Show noise, distortion and phase of each record."""
    show.table(
        Table(
            caption="The sines in the settled part",
            headings=(
                *("record", "settled, s", "signal to noise, dB"),
                *("THD reference", "THD output", "phase", "u of noise alone"),
            ),
            rows=tuple(Row(cells=_fit_cells(name, reading)) for name, reading in named),
        )
    )


def _fit_cells(name: str, reading: WaveformReading) -> tuple[str, ...]:
    begin, end = reading.settled_s
    output = reading.output_distortion
    snr = reading.reference_fit.signal_to_noise_db, reading.output_fit.signal_to_noise_db
    return (
        name,
        f"{begin:.2f} to {end:.2f}",
        f"{snr[0]:.0f} and {snr[1]:.0f}",
        f"{100.0 * reading.reference_distortion.thd_f:.2f} %",
        NONE if output is None else f"{100.0 * output.thd_f:.2f} %",
        NONE if reading.phase_deg is None else f"{fixed(reading.phase_deg, decimals=1)}°",
        f"{reading.u_noise_pct:.2g} %",
    )


def show_records(records: Sequence[DrawnRecord]) -> None:
    """Show each record: its signal, the part that was used, the fitted sine and what it leaves, the spectrum."""
    show.picture(waveforms_picture(records))
