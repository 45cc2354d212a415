"""A recording that comes into the folder is read and offered; an interface is listened to where one is there."""

from __future__ import annotations

import sys
import threading
import types

import numpy as np
import pytest
from scipy.io import wavfile

from tests.support.readings.entering import Clock, new_visit
from vibcal_nb.notebook.shaker.listening import listen
from vibcal_nb.notebook.shaker.session import Session
from vibcal_nb.notebook.shaker.visit import ShakerVisit
from vibcal_nb.notebook.shaker.watching import Watch
from vibcal_nb.problems import InputRefused, NotDone

SETUP = """
reference = { track = "1", scale = 20.0, unit = "mm/s pk" }
output = { track = "2", scale = 100.0, unit = "mV pk" }
sampling_hz = 5000
"""
RATE = 5000


def samples(level, output, hz=50.0, seconds=2.0):
    """Two sines as parts of full scale, the output lagging, with a little noise."""
    t = np.arange(int(RATE * seconds)) / RATE
    noise = np.random.default_rng(4).standard_normal((t.size, 2)) * 1e-4
    turn = 2 * np.pi * hz * t
    signals = np.column_stack([level / 20.0 * np.sin(turn), output / 100.0 * np.sin(turn - 0.4)])
    return (signals + noise).astype(np.float32)


@pytest.fixture
def session(tmp_path):
    visit = ShakerVisit(new_visit(tmp_path), channels=("STG-1-V11",), now=Clock())
    found = Session(visit)
    found.recordings = tmp_path / "recordings"
    found.recordings.mkdir()
    (found.recordings / "recording.toml").write_text(SETUP, encoding="utf-8")
    return found


def test_a_recording_is_offered_with_its_waveform_and_becomes_the_reading(session):
    path = session.recordings / "one.wav"
    wavfile.write(path, RATE, samples(1.98, 7.95))
    assert session.offer(path)
    assert session.offered.picture.startswith("<svg")
    assert not session.visit.readings
    session.do("take recording")
    (reading,) = session.visit.readings
    assert (reading.applied, reading.output) == (pytest.approx(1.98, rel=1e-3), pytest.approx(7.95, rel=1e-3))
    assert reading.u_pct > 0.0
    assert reading.note.startswith("from one.wav")
    assert session.answer.within
    assert session.offered is None


def test_a_recording_that_is_left_enters_nothing(session):
    path = session.recordings / "one.wav"
    wavfile.write(path, RATE, samples(1.98, 7.95))
    session.offer(path)
    session.do("leave recording")
    assert (session.offered, session.visit.readings, path.exists()) == (None, (), True)


def test_what_cannot_be_read_is_told_and_offered_never(session):
    path = session.recordings / "one.wav"
    path.write_bytes(b"RIFF no wave")
    assert session.offer(path)
    assert session.offered is None
    assert session.told[0].startswith("one.wav came and is not offered: ")
    assert not session.offer(session.recordings / "recording.toml")
    assert not session.offer(session.recordings / "notes.docx")


def test_a_folder_that_does_not_say_what_a_recording_holds_is_refused(session):
    (session.recordings / "recording.toml").write_text('reference = { track = "1" }\n', encoding="utf-8")
    path = session.recordings / "one.wav"
    wavfile.write(path, RATE, samples(1.98, 7.95))
    session.offer(path)
    assert "recording.toml" in session.told[0]


@pytest.mark.parametrize("by_looking", [True, False])
def test_a_new_file_is_told_of_once_it_is_written_and_an_old_one_is_not(tmp_path, by_looking):
    if not by_looking:
        pytest.importorskip("watchfiles")
    (tmp_path / "old.wav").write_bytes(b"old")
    told, came = [], threading.Event()

    def found(path):
        told.append((path.name, path.read_bytes()))
        came.set()

    watch = Watch(tmp_path, found, by_looking=by_looking)
    try:
        with (tmp_path / "new.wav").open("wb") as file:
            file.write(b"half")
            file.flush()
            file.write(b" and all")
        assert came.wait(20.0)
    finally:
        watch.stop()
    assert told == [("new.wav", b"half and all")]


def test_an_interface_is_listened_to_and_what_it_heard_is_kept(session, monkeypatch):
    heard = types.SimpleNamespace(rec=lambda frames, **how: samples(1.98, 7.95, seconds=frames / RATE))
    monkeypatch.setitem(sys.modules, "sounddevice", heard)
    session.do("listen")
    (path,) = session.recordings.glob("heard-*.wav")
    assert session.offer(path)
    assert session.offered.cells["output_unit"] == "mV pk"


def test_without_an_interface_there_is_a_sentence(session, monkeypatch):
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    session.do("listen")
    assert 'install the extra "shaker"' in session.refused

    def fails(frames, **how):
        raise ValueError("no input device matching")

    monkeypatch.setitem(sys.modules, "sounddevice", types.SimpleNamespace(rec=fails))
    with pytest.raises(NotDone, match="see that it is connected"):
        listen(session.recordings, frequency_hz=50.0, now=Clock()())
    (session.recordings / "recording.toml").unlink()
    with pytest.raises((InputRefused, OSError)):
        listen(session.recordings, frequency_hz=50.0, now=Clock()())
