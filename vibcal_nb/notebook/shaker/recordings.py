"""Recordings as they come: each new file is read, its level and output fitted, and offered as the reading."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from pathlib import Path

from vibcal_nb.analysis.entry.steps import Step
from vibcal_nb.display.entry.waveform_sketch import waveform_svg
from vibcal_nb.inputs.read_waveform_list import KINDS, Waveform
from vibcal_nb.inputs.signals.recording_setup import SETUP, RecordingSetup, read_recording_setup
from vibcal_nb.notebook.waveforms import OpenedWaveform, open_waveform, reading_row
from vibcal_nb.problems import Refused, in_words

TOLERANCE_PCT = 0.5


@dataclass(frozen=True, kw_only=True)
class Offer:
    """A recording that is offered as the reading of a step: its row by column, what it says, and its picture."""

    file: str
    step: Step
    cells: dict[str, str]
    said: str
    picture: str


def is_recording(path: Path) -> bool:
    """Whether a file may be a recording: the list of the tracks is none, nor is what is still being written."""
    return path.suffix.lower() in KINDS and path.name != SETUP and not path.name.startswith((".", "~"))


def offer_recording(path: Path, step: Step, *, serial: str = "") -> Offer:
    """Read a recording as a reading of a step. Raises ``InputRefused``, ``AnalysisRefused`` with a sentence."""
    setup = read_recording_setup(path.parent)
    opened = open_waveform(_as_waveform(path, setup, step), tolerance_pct=TOLERANCE_PCT)
    row = {name: f"{value:.10g}" if isinstance(value, float) else value for name, value in reading_row(opened).items()}
    cells = {**row, "direction": step.direction or "", "repeat": str(step.repeat) if step.repeat else ""}
    if serial:
        cells["note"] = f"sensor {serial}; {cells['note']}"
    reading = opened.reading
    said = (
        f"{cells['output']} {cells['output_unit']} at {cells['applied']} {cells['applied_unit']}, "
        f"{reading.frequency_hz:.5g} Hz; standard uncertainty {reading.u_pct:.2g} %"
    )
    return Offer(file=path.name, step=step, cells=cells, said=said, picture=_picture(opened, said))


def _as_waveform(path: Path, setup: RecordingSetup, step: Step) -> Waveform:
    return Waveform(
        file=path,
        channel=step.channel,
        test=step.test,
        condition=step.condition,
        reference=setup.reference,
        output=setup.output,
        sampling_hz=setup.sampling_hz,
        frequency_hz=step.frequency_hz or None,
    )


def _picture(opened: OpenedWaveform, said: str) -> str:
    return waveform_svg(
        opened.signals.reference,
        opened.signals.output,
        start=opened.reading.start,
        sampling_hz=opened.reading.sampling_hz,
        frequency_hz=opened.reading.frequency_hz,
        text=f"Five cycles of reference and output: {said}.",
    )


def offer_html(offer: Offer) -> str:
    """Return the offer as a question."""
    return (
        f"<div class='ask'><p><b>{escape(offer.file)}</b> came: {escape(offer.said)}.</p>{offer.picture}"
        "<button type='button' data-do='take recording' data-letter='Y'><kbd>Y</kbd> Take it as the reading</button>"
        "<button type='button' data-do='leave recording' data-letter='N'><kbd>N</kbd> Leave it; the file stays</button>"
        "</div>"
    )


def why_not(path: Path, error: BaseException) -> str:
    """Say why a recording is not offered."""
    text = in_words(error) if isinstance(error, Refused | OSError) else f"{type(error).__name__}."
    return f"{path.name} came and is not offered: {text}"
