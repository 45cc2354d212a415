"""recording.toml: what each recording holds that comes into a folder which is watched at the shaker."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from vibcal_nb.inputs.files.toml_table import TomlTable, load_toml
from vibcal_nb.inputs.read_waveform_list import Track, check_units, read_track
from vibcal_nb.model.keys.waveform_keys import RECORDING_FILE
from vibcal_nb.problems import InputRefused, Problem

SETUP = "recording.toml"


@dataclass(frozen=True, kw_only=True)
class RecordingSetup:
    """The two signals of every recording; ``sampling_hz`` and ``device`` are None where nothing is stated."""

    reference: Track
    output: Track
    sampling_hz: float | None = None
    device: str | None = None


def read_recording_setup(folder: Path) -> RecordingSetup:
    """Read what the recordings of a folder hold. Raises ``InputRefused`` with every problem."""
    problems: list[Problem] = []
    values = load_toml(folder / SETUP, problems)
    if values is None:
        raise InputRefused(problems)
    root = TomlTable.of_file(RECORDING_FILE, SETUP, values, problems)
    reference, output = read_track(root, "reference"), read_track(root, "output")
    sampling, device = root.number("sampling_hz"), root.optional_text("device")
    check_units(root, reference, output)
    root.finish()
    if problems or reference is None or output is None:
        raise InputRefused(problems)
    return RecordingSetup(reference=reference, output=output, sampling_hz=sampling, device=device)
