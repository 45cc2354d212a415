"""Readings from sampled signals: a known truth comes back within its uncertainty, and into the reading table."""

from __future__ import annotations

import shutil
import struct
import tracemalloc
import wave
import zipfile
from pathlib import Path

import numpy as np
import pytest

from tests.support.places import DEMO
from tests.support.readings.waveform_reading import FS, signals
from vibcal_nb.analysis.linearity.linearity import analyse_linearity
from vibcal_nb.analysis.readings.waveform_reading import read_waveform
from vibcal_nb.analysis.refusal import AnalysisRefused
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.model.case import select_case
from vibcal_nb.notebook.waveforms import append_waveforms, open_waveforms, reading_row
from vibcal_nb.problems import InputRefused, ParameterError

PARAMETERS = {"tolerance_pct": 0.5, "append_to_table": True}


def test_the_settled_part_is_found_and_read():
    reading = read_waveform(*signals(np.random.default_rng(1)), sampling_hz=FS)
    assert 0.9 <= reading.settled_s[0] <= 1.2
    assert reading.settled_s[1] == pytest.approx(5.0, abs=0.1)
    assert reading.frequency_hz == pytest.approx(50.02, abs=0.001)
    assert reading.read / reading.applied == pytest.approx(0.8, rel=5 * reading.u_pct / 100)
    assert reading.phase_deg == pytest.approx(np.degrees(0.3), abs=0.05)
    assert "blocks were left out" in reading.findings[0]


@pytest.mark.parametrize("disturbance", ["white noise", "mains", "unsteady gain"])
def test_the_uncertainty_covers_the_scatter(disturbance):
    """Repeats of the same record: the stated u is the scatter of the ratio or above, as far as 25 repeats show."""
    rng = np.random.default_rng(7)
    ratios, stated = [], []
    for _ in range(25):
        x, y = signals(rng, seconds=2.0, hz=80.0, ramp_s=0.0, noise=0.005)
        if disturbance == "mains":
            y = y + 0.02 * np.cos(2 * np.pi * 51.3 * np.arange(y.size) / FS + rng.uniform(0, 6.28))
        if disturbance == "unsteady gain":
            y = y * (1.0 + np.repeat(0.004 * rng.standard_normal(16), y.size // 16))
        reading = read_waveform(x, y, sampling_hz=FS, start_hz=80.0)
        ratios.append(reading.read / reading.applied)
        stated.append(reading.u_pct / 100 * 0.8)
    scatter, mean_u = np.std(ratios, ddof=1), np.sqrt(np.mean(np.square(stated)))
    assert abs(np.mean(ratios) - 0.8) < 4 * scatter / np.sqrt(25) + 0.0005
    assert mean_u > 0.6 * scatter
    if disturbance == "white noise":
        assert mean_u < 2.0 * scatter


def test_a_dc_output_is_its_mean():
    rng = np.random.default_rng(2)
    x, _ = signals(rng, ramp_s=0.0)
    current = 11.04 + 0.01 * rng.standard_normal(x.size)
    reading = read_waveform(x, current, sampling_hz=FS, output_is_dc=True)
    assert reading.read == pytest.approx(11.04, abs=0.001)
    assert (reading.phase_deg, reading.output_distortion) == (None, None)


def test_faults_of_the_signals_are_said():
    rng = np.random.default_rng(3)
    x, y = signals(rng, hz=80.0, ramp_s=0.0)
    t = np.arange(y.size) / FS
    reading = read_waveform(x, np.clip(y, -0.37, 0.37) + 0.01 * np.cos(2 * np.pi * 50 * t), sampling_hz=FS)
    said = "; ".join(reading.findings)
    assert "the top and bottom of the output is flattened" in said
    assert "mains pick-up in the output at 50 Hz" in said


def test_records_that_cannot_be_read_say_why():
    rng = np.random.default_rng(4)
    x, y = signals(rng, ramp_s=0.0)
    with pytest.raises(AnalysisRefused, match="record longer"):
        read_waveform(x[:400], y[:400], sampling_hz=FS, start_hz=50.0)
    drifting = x * np.linspace(0.1, 3.0, x.size)
    with pytest.raises(AnalysisRefused, match="never stays within"):
        read_waveform(drifting, y, sampling_hz=FS, start_hz=50.0)
    with pytest.raises(AnalysisRefused):
        read_waveform(x, np.zeros(x.size), sampling_hz=FS, start_hz=50.0)


def write_wav(path, columns, *, width=2):
    codes = np.round(np.column_stack(columns) * (2 ** (8 * width - 1) - 1)).astype("<i4")
    raw = codes.astype("<i4").tobytes()
    data = b"".join(raw[i : i + width] for i in range(0, len(raw), 4))
    with wave.open(str(path), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(width)
        file.setframerate(int(FS))
        file.writeframes(data)


LIST = """
[[waveform]]
file = "{name}"
channel = "STG-1-V11"
test = "linearity"
condition = "as-found"
reference = {{ track = "{first}", scale = 10.0, unit = "m/s2 pk" }}
output = {{ track = "{second}", scale = 100.0, unit = "mV pk" }}
"""


@pytest.fixture
def visit(tmp_path):
    home = tmp_path / "STG-1" / "2026-05-19"
    (home / "waveforms").mkdir(parents=True)
    for name in ("equipment.toml", "kinds.toml"):
        shutil.copy(DEMO / name, tmp_path)
    shutil.copy(DEMO / "STG-1" / "asset.toml", tmp_path / "STG-1")
    for name in ("visit.toml", "readings.csv"):
        shutil.copy(DEMO / "STG-1" / "2026-05-19" / name, home)
    return home


def store(visit, kind):
    x, y = signals(np.random.default_rng(5))
    name = f"record.{kind.split('-')[0]}"
    path, tracks = visit / "waveforms" / name, ("1", "2")
    if kind.startswith("wav"):
        write_wav(path, (x, y), width=int(kind.split("-")[1]) // 8)
    elif kind == "npz":
        np.savez(path, x=x, y=y, sampling_hz=FS)
        tracks = ("x", "y")
    else:
        separator, decimal = (";", ",") if kind == "csv-comma" else (",", ".")
        rows = [f"{i / FS:.8f}{separator}{a:.6f}{separator}{b:.6f}" for i, (a, b) in enumerate(zip(x, y, strict=True))]
        text = "\n".join([separator.join(("time_s", "x", "y")), *(row.replace(".", decimal) for row in rows)])
        path.write_text(text, encoding="utf-8")
        tracks = ("x", "y")
    text = LIST.format(name=name, first=tracks[0], second=tracks[1])
    (visit / "waveforms" / "waveforms.toml").write_text(text, encoding="utf-8")


@pytest.mark.parametrize("kind", ["wav-16", "wav-24", "wav-32", "npz", "csv", "csv-comma"])
def test_every_kind_of_file_gives_the_same_reading(visit, kind):
    store(visit, kind)
    (opened,) = open_waveforms({}, visit_folder=str(visit), **PARAMETERS)
    assert opened.applied == pytest.approx(5.0, rel=5e-4)
    assert opened.output == pytest.approx(40.0, rel=5e-4)
    assert reading_row(opened)["frequency_hz"] == pytest.approx(50.02, abs=0.001)


def test_readings_come_into_the_table_with_their_uncertainty(visit):
    store(visit, "wav-16")
    before = load_visit(visit).table.readings
    opened = open_waveforms({}, visit_folder=str(visit), **PARAMETERS)
    said = append_waveforms(opened, visit_folder=str(visit), append_to_table=False)
    assert "set append_to_table to True" in said and load_visit(visit).table.readings == before
    assert (
        append_waveforms(opened, visit_folder=str(visit), append_to_table=True)
        == "1 readings were added to readings.csv."
    )
    after = load_visit(visit).table.readings
    assert after[:-1] == before
    new = after[-1]
    assert (new.applied, new.applied_unit.text) == (pytest.approx(5.0, rel=5e-4), "m/s2 pk")
    assert 0.0 < new.u_pct < 0.1
    assert new.note.startswith("from record.wav, 1.")
    case = select_case(load_visit(visit), channel="STG-1-V11", test="linearity", condition="as-found")
    assert len(analyse_linearity(case).frequencies[0].points) == 29
    with pytest.raises(InputRefused, match="the same reading as in row"):
        append_waveforms(opened, visit_folder=str(visit), append_to_table=True)
    assert load_visit(visit).table.readings == after


@pytest.mark.parametrize("form", ["semicolon", "workbook", "none"])
def test_the_tables_own_form_is_kept(visit, form):
    store(visit, "wav-16")
    table = visit / "readings.csv"
    if form == "semicolon":
        text = table.read_text(encoding="utf-8").replace(",", ";").replace(".", ",")
        table.write_bytes(("# remark; with a semicolon\r\n" + text.replace("\n", "\r\n")).encode("cp1252"))
    elif form == "workbook":
        table.unlink()
        shutil.copy(DEMO / "STG-1" / "2025-04-29" / "readings.xlsx", visit)
    else:
        table.unlink()
    opened = open_waveforms({}, visit_folder=str(visit), **PARAMETERS)
    append_waveforms(opened, visit_folder=str(visit), append_to_table=True)
    last = load_visit(visit).table.readings[-1]
    assert last.u_pct == pytest.approx(opened[0].reading.u_pct, rel=0.05)
    assert last.output == pytest.approx(opened[0].output, rel=1e-5)
    if form == "semicolon":
        assert b"\r\n" in table.read_bytes() and b";mm/s pk;" in table.read_bytes()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda t: t.replace("record.wav", "../../../secret.wav"), "give the name of a file in the folder waveforms"),
        (lambda t: t.replace("record.wav", "record.mp3"), "give a file of the kind"),
        (lambda t: t.replace("record.wav", "other.wav"), "no file 'other.wav'"),
        (lambda t: t.replace("STG-1-V11", "STG-1-V1"), "did you mean"),
        (lambda t: t.replace("m/s2 pk", "m/s2 rms"), "with detector pk"),
        (lambda t: t.replace('track = "2"', 'track = "3"'), "no track '3'"),
        (lambda t: t.replace("scale = 10.0", "scale = 0"), "give what 1 in the file is"),
        (lambda t: "", "give a [[waveform]] table"),
    ],
)
def test_what_is_wrong_with_the_list_is_said(visit, change, said):
    store(visit, "wav-16")
    path = visit / "waveforms" / "waveforms.toml"
    path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")
    with pytest.raises(InputRefused) as caught:
        open_waveforms({}, visit_folder=str(visit), **PARAMETERS)
    assert said in str(caught.value)


def test_broken_and_pickled_files_are_refused(visit):
    store(visit, "wav-16")
    (visit / "waveforms" / "record.wav").write_bytes(b"RIFF....junk")
    with pytest.raises(InputRefused, match="no readable WAV"):
        open_waveforms({}, visit_folder=str(visit), **PARAMETERS)
    store(visit, "npz")
    np.savez(visit / "waveforms" / "record.npz", x=np.array([{"a": 1}], dtype=object), y=np.ones(1), sampling_hz=FS)
    with pytest.raises(InputRefused, match="objects, which are never loaded"):
        open_waveforms({}, visit_folder=str(visit), **PARAMETERS)
    with pytest.raises(ParameterError, match="give a number above 0"):
        open_waveforms({}, visit_folder=str(visit), tolerance_pct=0.0, append_to_table=False)


def refusal_of(visit):
    with pytest.raises(InputRefused) as caught:
        open_waveforms({}, visit_folder=str(visit), **PARAMETERS)
    return str(caught.value)


@pytest.mark.parametrize(
    ("place", "field", "said"),
    [
        (4, "<I", "a header that ends the file at byte 8, within the samples"),
        (20, "<H", "a readable WAV"),
        (22, "<H", "0 channels at 4000 samples a second"),
        (24, "<I", "2 channels at 0 samples a second"),
        (32, "<H", "bits a sample in frames of 0 bytes"),
        (34, "<H", "0 bits a sample"),
        (40, "<I", "0 bytes of samples"),
    ],
)
def test_a_header_of_nothing_is_refused(visit, place, field, said):
    store(visit, "wav-16")
    path = visit / "waveforms" / "record.wav"
    data = bytearray(path.read_bytes())
    struct.pack_into(field, data, place, 0)
    path.write_bytes(data)
    assert ("format '0'" if place == 20 else said) in refusal_of(visit)


@pytest.mark.parametrize("signature", [b"RIFF", b"RIFX"])
def test_a_header_that_states_four_gigabytes_is_refused_before_memory_is_taken(visit, signature):
    store(visit, "wav-24")
    path = visit / "waveforms" / "record.wav"
    data = bytearray(path.read_bytes())
    data[:4] = signature
    struct.pack_into("<I", data, 40, 2**32 - 4)
    path.write_bytes(data)
    assert "WAV" in refusal_of(visit)


def test_samples_that_are_no_numbers_are_refused(visit):
    store(visit, "npz")
    with np.load(visit / "waveforms" / "record.npz") as file:
        tracks = dict(file)
    for value, shown in ((np.nan, "nan"), (np.inf, "inf"), (1e300, "1e+300")):
        tracks["y"][999] = value
        np.savez(visit / "waveforms" / "record.npz", **tracks)
        assert f"'{shown}' as sample 1000 of the track 'y'" in refusal_of(visit)


@pytest.mark.parametrize("rate", [0.0, -1.0, np.nan, np.inf, 1e12])
def test_a_sampling_frequency_that_none_can_be_is_refused(visit, rate):
    store(visit, "npz")
    with np.load(visit / "waveforms" / "record.npz") as file:
        tracks = dict(file)
    np.savez(visit / "waveforms" / "record.npz", **(tracks | {"sampling_hz": rate}))
    assert "a sampling frequency of" in refusal_of(visit)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda rows: [*rows[:700], *rows[701:]], "not evenly spaced"),  # one sample lost
        (lambda rows: [rows[0], *(f"{row},1" for row in rows[1:])], "4 numbers a row below 3 headings"),
        (lambda rows: [rows[0], *reversed(rows[1:])], "do not rise"),
        (lambda rows: [*rows[:5], "0.00100000,nan,0.1", *rows[6:]], "'nan' as sample 5"),
        (lambda rows: [*rows[:5], "0.00100000,1e400,0.1", *rows[6:]], "'inf' as sample 5"),
        (lambda rows: [*rows[:5], "0.00100000,,0.1", *rows[6:]], "'nan' as sample 5"),
    ],
)
def test_rows_that_are_no_even_samples_are_refused(visit, change, said):
    store(visit, "csv")
    path = visit / "waveforms" / "record.csv"
    path.write_text("\n".join(change(path.read_text(encoding="utf-8").split("\n"))), encoding="utf-8")
    assert said in refusal_of(visit)


def _member(shape, *, descr="<f8", data=b"\0" * 80):
    text = repr({"descr": descr, "fortran_order": False, "shape": shape}).encode()
    text += b" " * (64 - len(text)) + b"\n" * (len(text) < 64)
    return b"\x93NUMPY\x01\x00" + struct.pack("<H", len(text)) + text + data


@pytest.mark.parametrize("shape", [(10**13,), (2**62, 4), (-10,), (11,)])
def test_an_array_that_states_another_shape_than_its_data_is_refused_before_memory_is_taken(visit, shape):
    store(visit, "npz")
    with zipfile.ZipFile(visit / "waveforms" / "record.npz", "w") as archive:
        archive.writestr("x.npy", _member(shape))
    tracemalloc.start()
    assert "an array that states the shape" in refusal_of(visit)
    assert tracemalloc.get_traced_memory()[1] < 10e6
    tracemalloc.stop()


def test_an_archive_that_unpacks_to_a_gigabyte_is_refused_before_it_is_unpacked(visit):
    store(visit, "npz")
    path = visit / "waveforms" / "record.npz"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("x.npy", "w") as member:
        for _ in range(30):
            member.write(b"\0" * 20_000_000)
    assert path.stat().st_size < 1_000_000
    assert "600 MB once unpacked" in refusal_of(visit)


def test_a_pickle_is_never_loaded(visit):
    class Marks:
        def __reduce__(self):
            return (Path.touch, (visit / "loaded",))

    store(visit, "npz")
    np.savez(visit / "waveforms" / "record.npz", x=np.array([Marks()], dtype=object), y=np.ones(1))
    assert "objects, which are never loaded" in refusal_of(visit)
    assert not (visit / "loaded").exists()


def test_a_folder_of_waveforms_that_leads_elsewhere_is_refused(visit, tmp_path):
    store(visit, "npz")
    elsewhere = tmp_path.parent / f"{tmp_path.name}-elsewhere"
    (visit / "waveforms").rename(elsewhere)
    try:
        (visit / "waveforms").symlink_to(elsewhere, target_is_directory=True)
    except OSError:
        pytest.skip("this system lets nobody make links")
    assert "a link that leads out" in refusal_of(visit)
