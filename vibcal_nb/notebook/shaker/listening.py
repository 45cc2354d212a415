"""An audio interface listened to, where one is there: what it hears goes into the watched folder as a recording."""

from __future__ import annotations

from datetime import datetime
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np

from vibcal_nb.inputs.signals.recording_setup import RecordingSetup, read_recording_setup
from vibcal_nb.problems import NotDone

USUAL_HZ = 48_000.0
SECONDS = 3.0
FEWEST_CYCLES = 40.0


def listen(folder: Path, *, frequency_hz: float, now: datetime) -> Path:
    """Record reference and output for as long as a reading needs, and keep both as a WAV file; return it.

    Raises ``NotDone`` with a sentence where there is nothing to listen to, ``InputRefused`` for the folder's file.
    """
    setup = read_recording_setup(folder)
    rate = setup.sampling_hz or USUAL_HZ
    seconds = max(SECONDS, FEWEST_CYCLES / frequency_hz if frequency_hz else 0.0)
    samples = _heard(_sounddevice(), setup, frames=int(seconds * rate), rate=rate)
    path = folder / f"heard-{now:%Y%m%d-%H%M%S}.wav"
    partial = path.with_suffix(".partial")
    from scipy.io import wavfile

    wavfile.write(partial, int(rate), samples)
    partial.rename(path)
    return path


def _sounddevice() -> Any:
    try:
        return import_module("sounddevice")
    except ImportError:
        said = 'Nothing can be listened to: install the extra "shaker", or record into the folder with another program.'
    except OSError:  # the module is there, and the library below it is not
        said = "Nothing can be listened to: the audio library PortAudio is missing on this machine; install it."
    raise NotDone(said)


def _heard(device: Any, setup: RecordingSetup, *, frames: int, rate: float) -> np.ndarray:
    channels = max([2, *(int(track.name) for track in (setup.reference, setup.output) if track.name.isdecimal())])
    how = {"samplerate": rate, "channels": channels, "dtype": "float32", "device": setup.device, "blocking": True}
    try:
        heard = device.rec(frames, **how)
    except Exception as error:  # whatever the interface's driver says
        raise NotDone(
            f"The audio interface did not record ({str(error) or type(error).__name__}): see that it is connected and "
            "has two inputs, or record into the folder with another program."
        ) from None
    return np.asarray(heard, dtype=np.float32)
