"""Readings from waveforms as a table and as figures: where the record is settled, and how the sines fit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from vibcal_nb.analysis.readings.waveform_reading import WaveformReading
from vibcal_nb.display.drawing.axes_grid import axes_grid
from vibcal_nb.display.drawing.picture import Picture, draw_picture
from vibcal_nb.display.style import ALLOWED, FAILED, GREY, INK
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


def show_settled(named: Sequence[tuple[str, WaveformReading]]) -> None:
    """Show the amplitude of each record block by block, with the part that was used."""
    show.picture(settled_picture(named))


def settled_picture(named: Sequence[tuple[str, WaveformReading]]) -> Picture:
    """Return the blocks of each record."""
    said = "; ".join(
        f"{name}: settled from {reading.settled_s[0]:.2f} to {reading.settled_s[1]:.2f} s" for name, reading in named
    )

    def draw(figure: Any) -> None:
        axes = [row[0] for row in axes_grid(figure, heights=(1.0,) * len(named), down=24.0)]
        for (name, reading), ax in zip(named, axes, strict=True):
            draw_settled(name, reading, ax)
        axes[0].legend(loc="lower right", ncols=3)
        axes[-1].set_xlabel("time, s")

    text = f"Amplitude of reference and output over time, block by block. {said}."
    return draw_picture(1.9 * len(named) + 0.5, draw, text=text)


def draw_settled(name: str, reading: WaveformReading, ax: Any) -> Any:
    """Draw amplitudes over time relative to those of the settled part, which is shaded."""
    ax.axvspan(*reading.settled_s, color=ALLOWED, lw=0, label="settled part")
    first, last = reading.settled_blocks
    for values, look, label in (
        (reading.block_applied, {"marker": "o", "color": INK}, "reference"),
        (reading.block_read, {"marker": "x", "color": FAILED}, "output"),
    ):
        relative = 100.0 * (values / np.mean(values[first:last]) - 1.0)
        ax.plot(reading.block_s, relative, ls="none", ms=4, label=label, **look)
    ax.axhline(0.0, color=GREY, lw=0.8)
    spread = 100.0 * np.abs(reading.block_applied / np.mean(reading.block_applied[first:last]) - 1.0)
    ax.set_ylim(-min(max(3.0, float(spread.max())), 12.0), min(max(3.0, float(spread.max())), 12.0))
    ax.set_xlim(0.0, reading.samples / reading.sampling_hz)
    ax.set_ylabel("amplitude, %")
    ax.set_title(name)
    return ax
