"""Signals as recorders write them, against independent writers: pyuff, SciPy, h5py, Python's own encodings."""

from __future__ import annotations

import contextlib
import gc
import struct
import sys
import warnings
import zlib

import h5py
import numpy as np
import pytest
import pyuff
from hypothesis import given
from hypothesis import strategies as st
from scipy.io import savemat

from tests.support.readings.cases import SHORT
from vibcal_nb.inputs.load_waveform import load_waveform
from vibcal_nb.inputs.read_waveform_list import Track, Waveform
from vibcal_nb.inputs.signals.hdf5_signals import read_hdf5
from vibcal_nb.inputs.signals.mat_signals import read_mat
from vibcal_nb.inputs.signals.text_signals import read_text_signals
from vibcal_nb.inputs.signals.tracks import SignalsRefused
from vibcal_nb.inputs.signals.uff58 import read_uff
from vibcal_nb.problems import InputRefused
from vibcal_nb.units import parse_unit

RATE = 2048.0
T = np.arange(600) / RATE
REFERENCE = 1.25 * np.sin(2.0 * np.pi * 50.0 * T)
OUTPUT = 5.02 * np.sin(2.0 * np.pi * 50.0 * T - 0.3) + 0.01


def waveform(path, reference, output, *, sampling_hz=None):
    return Waveform(
        file=path,
        channel="STG-1-V11",
        test="linearity",
        condition="as-found",
        reference=Track(name=reference, scale=1.0, unit=parse_unit("m/s2 pk")),
        output=Track(name=output, scale=1.0, unit=parse_unit("mV pk")),
        sampling_hz=sampling_hz,
    )


def assert_loaded(path, reference, output, *, digits=1e-6, sampling_hz=None):
    pair = load_waveform(waveform(path, reference, output, sampling_hz=sampling_hz))
    np.testing.assert_allclose(pair.reference, REFERENCE, atol=digits)
    np.testing.assert_allclose(pair.output, OUTPUT, atol=digits)
    assert pair.sampling_hz == pytest.approx(RATE, rel=1e-6)


def refusal(path, reference="1", output="2"):
    with pytest.raises(InputRefused) as refused:
        load_waveform(waveform(path, reference, output))
    return str(refused.value)


def comma(value, digits=6):
    return f"{value:.{digits}f}".replace(".", ",")


def test_a_loggers_text_with_a_head_decimal_commas_and_a_degree_sign_is_read(tmp_path):
    head = ["Rekorder;Gerät 7", "Temperatur;23,5 °C", "Kanäle;2", "", "Zeit [s];Ref [m/s²];Kanal [mV]"]
    rows = [";".join((comma(t, 9), comma(x), comma(y))) for t, x, y in zip(T, REFERENCE, OUTPUT, strict=True)]
    (tmp_path / "log.csv").write_bytes("\r\n".join([*head, *rows, ""]).encode("windows-1252"))
    assert_loaded(tmp_path / "log.csv", "Ref [m/s²]", "Kanal [mV]")


def test_units_below_the_headings_are_passed_over_and_columns_without_headings_are_numbered(tmp_path):
    rows = ["\t".join((f"{x:.6f}", f"{y:.6f}")) for x, y in zip(REFERENCE, OUTPUT, strict=True)]
    (tmp_path / "a.txt").write_text("\n".join(["taken by B", "ref\tout", "m/s2\tmV", *rows]), encoding="utf-8")
    assert_loaded(tmp_path / "a.txt", "ref", "out", sampling_hz=RATE)
    (tmp_path / "b.asc").write_text("\n".join(rows).replace("\t", "   "), encoding="utf-16")
    assert_loaded(tmp_path / "b.asc", "1", "2", sampling_hz=RATE)


def test_times_in_milliseconds_tell_the_sampling_frequency(tmp_path):
    rows = [f"{1000 * t:.6f},{x:.6f},{y:.6f}" for t, x, y in zip(T, REFERENCE, OUTPUT, strict=True)]
    (tmp_path / "a.csv").write_text("\n".join(["time (ms),ref,out", *rows]), encoding="utf-8")
    assert_loaded(tmp_path / "a.csv", "ref", "out")


def test_a_text_that_holds_no_samples_is_refused_and_no_one_is_sent_back_to_the_machine(tmp_path):
    (tmp_path / "a.csv").write_text("dear colleague,\nno samples here\n", encoding="utf-8")
    said = refusal(tmp_path / "a.csv")
    assert "no rows of numbers below each other; give one row a sample, one column a signal" in said
    (tmp_path / "b.csv").write_text("a;b\n1;2\n3;4\n5;x\n", encoding="utf-8")
    assert "export it again" in refusal(tmp_path / "b.csv", "a", "b")
    (tmp_path / "c.csv").write_bytes(b"a;b\n1;2\n\0\0\0\n")
    assert "NUL bytes" in refusal(tmp_path / "c.csv", "a", "b")


def test_a_lost_sample_is_named_with_its_row(tmp_path):
    rows = [f"{t:.6f};{x:.6f};{y:.6f}" for t, x, y in zip(T, REFERENCE, OUTPUT, strict=True)]
    del rows[300]
    (tmp_path / "a.csv").write_text("\n".join(["head;line", "time_s;ref;out", *rows]), encoding="utf-8")
    assert "not evenly spaced near row" in refusal(tmp_path / "a.csv", "ref", "out")


def write_uff(path, *, binary, double, names=("reference", "monitor out"), rate=RATE):
    sets = [
        {
            "type": 58, "binary": int(binary), "func_type": 1, "rsp_node": 11 + i, "rsp_dir": 3, "ref_dir": 3,
            "ref_node": 1, "data": values, "x": np.arange(values.size) / rate, "id1": name, "id2": "NONE",
            "id3": "NONE", "id4": "NONE", "id5": "NONE", "rsp_ent_name": "STG1", "ref_ent_name": "NONE",
            "abscissa_spacing": 1, "abscissa_spec_data_type": 17, "ordinate_spec_data_type": 12,
            "orddenom_spec_data_type": 0, "ord_data_type": 4 if double else 2, "abscissa_inc": 1.0 / rate,
            "abscissa_min": 0.0,
        }
        for i, (name, values) in enumerate(zip(names, (REFERENCE, OUTPUT), strict=True))
    ]  # fmt: skip
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # pyuff leaves its file to the collector
        written = []
        for i, each in enumerate(sets):  # one a file: of several binary ones, pyuff keeps the last
            own = path.with_name(f"{path.stem}-{i}.uff")
            pyuff.UFF(str(own)).write_sets([each], "add")
            gc.collect()
            written.append(own.read_bytes())
            own.unlink()
    path.write_bytes(b"".join(written))


@pytest.mark.parametrize(("binary", "double"), [(False, False), (False, True), (True, False), (True, True)])
def test_dataset_58_reads_as_pyuff_wrote_it(tmp_path, binary, double):
    path = tmp_path / "a.uff"
    write_uff(path, binary=binary, double=double)
    digits = 1e-5 if not double else 1e-9
    for names in (("reference", "monitor out"), ("1", "2"), ("STG1:11:3", "STG1:12:3")):
        assert_loaded(path, *names, digits=digits)


def test_unevenly_stored_times_that_are_even_tell_the_sampling_frequency(tmp_path):
    path = tmp_path / "a.unv"
    lines = ["    -1", "    58", *(["NONE"] * 5)]
    lines += [f"{1:5d}{0:10d}{0:5d}{0:10d} {'NONE':10s}{1:10d}{3:4d} {'NONE':10s}{1:10d}{3:4d}"]
    lines += [f"{2:10d}{600:10d}{0:10d}{0.0:13.5E}{0.0:13.5E}{0.0:13.5E}"]
    lines += [f"{17:10d}{0:5d}{0:5d}{0:5d} {'Time':20s} {'s':20s}"] * 4
    pairs = [f"{t:13.5E}{x:13.5E}" for t, x in zip(T, REFERENCE, strict=True)]
    block = ["".join(pairs[i : i + 3]) for i in range(0, 600, 3)]
    one = "\n".join([*lines, *block, "    -1"])
    path.write_text(one + "\n" + one + "\n", encoding="ascii")
    pair = load_waveform(waveform(path, "1", "2"))
    assert pair.sampling_hz == pytest.approx(RATE, rel=1e-4)
    np.testing.assert_allclose(pair.output, REFERENCE, atol=1e-4)


def test_other_datasets_are_passed_over_and_broken_ones_refused(tmp_path):
    path = tmp_path / "a.uff"
    write_uff(path, binary=True, double=False)
    other = b"    -1\n   151\nname\nabout\n\n\n\n\n\n    -1\n"
    data = path.read_bytes()
    path.write_bytes(other + data)
    assert_loaded(path, "reference", "monitor out", digits=1e-5)
    path.write_bytes(data[: len(data) // 3])
    assert "cut off" in refusal(path)
    path.write_bytes(other)
    assert "no time signal in a dataset 58" in refusal(path)
    path.write_bytes(data.replace(b"       600", b"       601", 1))
    assert "600 samples where 601 are stated" in refusal(path)


def test_tracks_of_two_sampling_frequencies_are_no_pair(tmp_path):
    one, two = tmp_path / "a.uff", tmp_path / "b.uff"
    write_uff(one, binary=False, double=True)
    write_uff(two, binary=False, double=True, names=("slow", "slower"), rate=1024.0)
    one.write_bytes(one.read_bytes() + two.read_bytes())
    assert "tracks sampled at 2048 and 1024 Hz" in refusal(one, "reference", "slow")


@SHORT
@given(st.binary(max_size=600), st.integers(0, 3000))
def test_a_changed_dataset_is_read_or_refused(tmp_path_factory, junk, place):
    path = tmp_path_factory.mktemp("uff") / "a.uff"
    write_uff(path, binary=True, double=False)
    data = path.read_bytes()
    path.write_bytes(data[:place] + junk + data[place + len(junk) :])
    with contextlib.suppress(SignalsRefused, ValueError):
        read_uff(path)


@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize("version", ["4", "5"])
def test_arrays_and_fields_of_structures_in_mat_files_are_tracks(tmp_path, packed, version):
    path = tmp_path / "a.mat"
    both = np.column_stack([REFERENCE, OUTPUT])
    if version == "4":
        savemat(path, {"reference": REFERENCE, "out": OUTPUT, "fs": RATE, "both": both}, format="4")
    else:
        record = {"ref": REFERENCE, "out": {"values": OUTPUT}, "fs": RATE, "both": both, "name": "a text"}
        savemat(path, {"record": record}, do_compression=packed)
    names = ("reference", "out") if version == "4" else ("record/ref", "record/out/values")
    assert_loaded(path, *names)
    columns = ("both[1]", "both[2]") if version == "4" else ("record/both[1]", "record/both[2]")
    assert_loaded(path, *columns)
    assert "no track 'nothing'; give one of" in refusal(path, "nothing", names[1])


def test_a_mat_file_that_would_unpack_without_end_is_not_unpacked(tmp_path):
    bomb = zlib.compress(b"\0" * 600_000_000, 9)
    head = b"MATLAB 5.0 MAT-file".ljust(124) + struct.pack("<H", 0x0100) + b"IM"
    (tmp_path / "a.mat").write_bytes(head + struct.pack("<II", 15, len(bomb)) + bomb)
    with pytest.raises(SignalsRefused, match="MB once unpacked"):
        read_mat(tmp_path / "a.mat")


def test_hdf5_datasets_are_tracks_by_their_path_and_mat_7_3_is_hdf5(tmp_path):
    for name in ("a.h5", "a.mat"):
        path = tmp_path / name
        with h5py.File(path, "w", userblock_size=512 if name == "a.mat" else 0) as file:
            group = file.create_group("record 1")
            group.create_dataset("ref", data=REFERENCE, compression="gzip")
            group.create_dataset("both", data=np.column_stack([REFERENCE, OUTPUT]))
            group["out"] = OUTPUT
            group.attrs["sampling_rate"] = RATE
            file["alias"] = h5py.SoftLink("/record 1/ref")
        assert_loaded(path, "record 1/ref", "record 1/out")
        assert_loaded(path, "record 1/both[1]", "record 1/both[2]")


def test_hdf5_that_leads_out_of_the_file_or_wants_a_program_is_refused_or_left(tmp_path):
    with h5py.File(tmp_path / "other.h5", "w") as file:
        file["x"] = REFERENCE
    with h5py.File(tmp_path / "a.h5", "w") as file:
        file["out"] = OUTPUT
        file["elsewhere"] = h5py.ExternalLink("other.h5", "/x")
    assert set(read_hdf5(tmp_path / "a.h5").signals) == {"out"}
    with h5py.File(tmp_path / "b.h5", "w") as file:
        layout = h5py.VirtualLayout(shape=(600,), dtype="f8")
        layout[:] = h5py.VirtualSource(tmp_path / "other.h5", "x", shape=(600,))
        file.create_virtual_dataset("v", layout)
    with pytest.raises(SignalsRefused, match="in another file"):
        read_hdf5(tmp_path / "b.h5")
    with h5py.File(tmp_path / "c.h5", "w") as file:
        file.create_dataset("ext", (600,), "f8", external=[("raw.bin", 0, 4800)])
    with pytest.raises(SignalsRefused, match="in another file"):
        read_hdf5(tmp_path / "c.h5")
    with h5py.File(tmp_path / "d.h5", "w") as file:
        file.create_dataset("huge", (10**9,), "f8", compression="gzip", chunks=(10**6,))
    with pytest.raises(SignalsRefused, match="MB once unpacked"):
        read_hdf5(tmp_path / "d.h5")


def test_without_h5py_an_hdf5_file_is_refused_with_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "h5py", None)
    with pytest.raises(SignalsRefused) as refused:
        read_hdf5(tmp_path / "a.h5")
    assert "recorders" in refused.value.remedy


@pytest.mark.parametrize("name", ["a.mat", "a.h5", "a.uff", "a.npz", "a.wav"])
def test_a_file_that_is_something_else_is_refused_in_a_sentence(tmp_path, name):
    (tmp_path / name).write_bytes(b"this is no record at all, whatever it says\n" * 5)
    assert f"waveforms/{name}: found" in refusal(tmp_path / name)


@SHORT
@given(st.lists(st.tuples(st.floats(-9, 9), st.floats(-9, 9)), min_size=3, max_size=30), st.sampled_from(";\t"))
def test_what_is_written_with_decimal_commas_comes_back(tmp_path_factory, rows, separator):
    path = tmp_path_factory.mktemp("text") / "a.csv"
    lines = [separator.join((comma(x, 4), comma(y, 4))) for x, y in rows]
    path.write_text("\n".join([f"a{separator}b", *lines]), encoding="utf-8")
    tracks = read_text_signals(path)
    np.testing.assert_allclose(tracks.signals["a"], [round(x, 4) for x, _ in rows], atol=1e-9)
