"""The keys of waveforms/waveforms.toml: what each file of sampled signals holds."""

from __future__ import annotations

from vibcal_nb.model.keys.key import LONGEST_NAME, Key, KeyTable
from vibcal_nb.model.names import AS_FOUND, CONDITIONS, ELECTRICAL, LINEARITY, SHAKER_TESTS

_LONGEST_FILE_NAME = 200

TRACK = KeyTable(
    heading="reference = { ... }, output = { ... }",
    says="One signal of a file.",
    keys=(
        Key(
            name="track",
            type="text",
            says="Which signal: a WAV channel from 1, a text's heading, an array's path, a UFF signal's first line.",
            required=True,
            longest=_LONGEST_FILE_NAME,
            example='"1"',
        ),
        Key(
            name="scale",
            type="number",
            says="What 1 in the file is, in the unit; integers of a WAV file count as parts of full scale.",
            required=True,
            unit="unit",
            example="20.0",
        ),
        Key(
            name="unit",
            type="unit",
            says="The signal's unit: a sine is read as its peak, a dc unit as its mean.",
            required=True,
            choices=("vibration", ELECTRICAL),
            example='"m/s2 pk"',
        ),
    ),
)

WAVEFORM = KeyTable(
    heading="[[waveform]]",
    says="One file of sampled signals, and what it is a reading of.",
    keys=(
        Key(
            name="file",
            type="text",
            says="The file's name in the folder waveforms.",
            required=True,
            longest=_LONGEST_FILE_NAME,
            example='"v12-turbine.wav"',
        ),
        Key(name="channel", type="text", says="The channel's tag.", required=True, longest=LONGEST_NAME),
        Key(
            name="test",
            type="choice",
            says="Which test.",
            choices=SHAKER_TESTS,
            default=LINEARITY,
            example='"linearity"',
        ),
        Key(
            name="condition",
            type="choice",
            says="Before or after anything was adjusted or renewed.",
            choices=CONDITIONS,
            default=AS_FOUND,
            example='"as-found"',
        ),
        Key(name="reference", type="table", says="The reference's signal.", required=True, table=TRACK),
        Key(name="output", type="table", says="The channel's signal.", required=True, table=TRACK),
        Key(
            name="sampling_hz",
            type="number",
            says="The sampling frequency, where the file does not state it.",
            unit="Hz",
            above=0.0,
            example="5000",
        ),
        Key(
            name="frequency_hz",
            type="number",
            says="Where to begin looking for the sine; found without it as a rule.",
            unit="Hz",
            above=0.0,
            example="50",
        ),
    ),
)

WAVEFORM_FILE = KeyTable(
    heading="waveforms/waveforms.toml",
    says="What each file of sampled signals of a visit holds.",
    keys=(
        Key(
            name="waveform",
            type="list of tables",
            says="One table a file.",
            required=True,
            table=WAVEFORM,
        ),
    ),
)

RECORDING_FILE = KeyTable(
    heading="recording.toml",
    says="What each recording holds that comes into a folder which is watched at the shaker.",
    keys=(
        Key(name="reference", type="table", says="The reference's signal.", required=True, table=TRACK),
        Key(name="output", type="table", says="The channel's signal.", required=True, table=TRACK),
        Key(
            name="sampling_hz",
            type="number",
            says="The sampling frequency, where a file does not state it, and where an interface is listened to.",
            unit="Hz",
            above=0.0,
            example="48000",
        ),
        Key(
            name="device",
            type="text",
            says="The audio interface that is listened to, by its name; left out, the usual one.",
            example='"interface A"',
        ),
    ),
)
