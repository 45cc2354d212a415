"""Cases of sampled signals: a good WAV, NPZ or CSV file, or their list, changed; read rightly or refused."""

from __future__ import annotations

import csv
import io
import math
import struct
import wave
from functools import cache
from pathlib import Path
from random import Random

import numpy as np

from tests.fuzzing.mutations import mutate_bytes, mutate_rows, mutate_toml, write_toml
from tests.fuzzing.sentences import check_sentences
from tests.support.sites.plants import build_site
from vibcal_nb.inputs.load_waveform import load_waveform
from vibcal_nb.notebook.waveforms import open_waveforms, reading_row
from vibcal_nb.problems import InputRefused

RATE, SIZE = 2000, 1000
_LIST = {
    "waveform": [
        {
            "file": "record.wav",
            "channel": "STG-1-V11",
            "test": "linearity",
            "condition": "as-found",
            "reference": {"track": "1", "scale": 10.0, "unit": "m/s2 pk"},
            "output": {"track": "2", "scale": 100.0, "unit": "mV pk"},
        }
    ]
}
_WORDS = (0, 1, 2, 3, 4, 7, 8, 12, 16, 17, 24, 32, 64, 255, 0x11, 0x55, 0xFFFE, 0xFFFF)
_LONG = (0, 1, 3, 16, 44, 1000, 2**31 - 1, 2**31, 2**32 - 8, 2**32 - 1)
_DTYPES = ("<f8", ">f8", "<f4", "<f2", "<i2", "<u4", "<c16", "|b1", "<U8", "|S8", "|O", "<M8[s]", "|V3", "<i8")
_SHAPES = ((0,), (1,), (SIZE,), (SIZE, 1), (2, SIZE // 2), (10**13,), (2**62, 4), (-1,), (SIZE, 0), (), (3, 4, 5))


@cache
def _signals() -> tuple[np.ndarray, np.ndarray]:
    t = np.arange(SIZE) / RATE
    noise = np.random.default_rng(3).normal(0.0, 1e-4, (2, SIZE))
    return 0.5 * np.sin(2 * np.pi * 80.3 * t) + noise[0], 0.4 * np.sin(2 * np.pi * 80.3 * t + 0.4) + noise[1]


def _good_wav() -> bytes:
    data = np.round(np.column_stack(_signals()) * 32767).astype("<i2").tobytes()
    buffer = io.BytesIO()
    with wave.open(buffer, "wb") as file:
        file.setparams((2, 2, RATE, SIZE, "NONE", ""))
        file.writeframes(data)
    return buffer.getvalue()


def _wav(random: Random) -> bytes:
    """A header of any fields over samples, whole or cut."""
    kind, width = random.choice(((1, 2), (1, 2), (1, 3), (1, 4), (1, 1), (3, 4), (3, 8)))
    codes = np.column_stack(_signals())
    if kind == 3:
        data = codes.astype(f"<f{width}").tobytes()
    else:
        whole = np.round(codes * (2 ** (8 * width - 1) - 1)).astype("<i4") + (128 if width == 1 else 0)
        data = whole.view("u1").reshape(-1, 4)[:, :width].tobytes()
    fields = [kind, 2, RATE, RATE * 2 * width, 2 * width, 8 * width]
    sizes = [36 + len(data), 16, len(data)]
    for _ in range(random.choice((0, 1, 1, 2))):
        place = random.randrange(9)
        if place < 6:
            fields[place] = random.choice(_LONG if place in (2, 3) else _WORDS)
        else:
            sizes[place - 6] = random.choice(_LONG)
    if random.random() < 0.3:  # what goes with the rate goes along
        fields[3] = fields[2] * fields[4] % 2**32
    head = struct.pack("<4sI4s4sI", random.choice((b"RIFF",) * 6 + (b"RIFX", b"RF64")), sizes[0], b"WAVE", b"fmt ", 16)
    whole = head + struct.pack("<HHIIHH", *fields) + struct.pack("<4sI", b"data", sizes[2]) + data
    if kind == 3 and random.random() < 0.3:
        place = 44 + width * random.randrange(2 * SIZE)
        odd = random.choice((float("nan"), float("inf"), 3e38))
        whole = whole[:place] + struct.pack("<f" if width == 4 else "<d", odd) + whole[place + width :]
    return mutate_bytes(whole, random) if random.random() < 0.3 else whole


def _npz(random: Random) -> bytes:
    x, y = _signals()
    rate = random.choice((RATE, RATE, RATE, 0, -1.0, float("nan"), float("inf"), 1j, "2000", [RATE], 10**30))
    buffer = io.BytesIO()
    (np.savez_compressed if random.random() < 0.5 else np.savez)(buffer, x=x, y=y, sampling_hz=np.asarray(rate))
    kind = random.randrange(3)
    if kind == 0:
        return mutate_bytes(buffer.getvalue(), random)
    if kind == 1:
        return buffer.getvalue()
    return _member(random, x.tobytes(), rate)


def _member(random: Random, data: bytes, rate: object) -> bytes:
    """An archive whose first array states any type and shape over any data; its name may lead elsewhere."""
    import zipfile

    header = repr({"descr": random.choice(_DTYPES), "fortran_order": random.random() < 0.5, "shape": _shape(random)})
    text = header.encode() + b" " * (63 - len(header) % 64) + b"\n"
    if random.random() < 0.2:
        text = mutate_bytes(text, random)
    array = b"\x93NUMPY\x01\x00" + struct.pack("<H", len(text)) + text + data[: random.choice((0, 8, len(data)))]
    name = random.choice(("x.npy",) * 5 + ("../x.npy", "/x.npy", "x", "x.npy\x00.npy", "C:\\x.npy", "sampling_hz.npy"))
    buffer = io.BytesIO()
    np.savez(
        buffer, **({"y": _signals()[1]} | ({} if name == "sampling_hz.npy" else {"sampling_hz": np.asarray(rate)}))
    )
    with zipfile.ZipFile(buffer, "a") as archive:
        archive.writestr(zipfile.ZipInfo(name), array)
    return buffer.getvalue()


def _shape(random: Random) -> tuple[int, ...]:
    return random.choice(_SHAPES)


def _csv(random: Random) -> bytes:
    x, y = _signals()
    rows = [["time_s", "x", "y"], *([f"{i / RATE:.5f}", f"{a:.6f}", f"{b:.6f}"] for i, (a, b) in enumerate(zip(x, y)))]  # noqa: B905
    separator = random.choice(",;\t")
    if random.random() < 0.5:
        rows = mutate_rows([row[: random.choice((3, 3, 3, 2))] for row in rows], random, mildly=False)
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=separator, lineterminator=random.choice(("\n", "\r\n", "\r"))).writerows(rows)
    data = text.getvalue().encode("utf-8", "surrogatepass")
    return mutate_bytes(data, random) if random.random() < 0.4 else data


KINDS = {
    "waveforms.toml": ("record.wav", None, ("1", "2")),
    "waveform, WAV": ("record.wav", _wav, ("1", "2")),
    "waveform, NPZ": ("record.npz", _npz, ("x", "y")),
    "waveform, CSV": ("record.csv", _csv, ("x", "y")),
}


def try_waveform(kind: str, seed: int, folder: Path) -> str:
    """Try one case; return 'accepted' or 'refused'."""
    random = Random(f"{kind} {seed}")
    name, make, tracks = KINDS[kind]
    home = build_site(folder, []) / "waveforms"
    home.mkdir(exist_ok=True)
    listed = _LIST["waveform"][0]
    values = {"waveform": [listed | {"file": name}]}
    for key, track in zip(("reference", "output"), tracks, strict=True):
        values["waveform"][0][key] = listed[key] | {"track": track}
    text = _list(values, random) if make is None else write_toml(values)
    (home / "waveforms.toml").write_bytes(text.encode("utf-8", "surrogatepass"))
    (home / name).write_bytes(_good_wav() if make is None else make(random))
    try:
        opened = open_waveforms({}, visit_folder=str(home.parent), tolerance_pct=0.5, append_to_table=False)
    except InputRefused as refused:
        check_sentences(str(refused))
        return "refused"
    for item in opened:
        row = reading_row(item)
        for column in ("frequency_hz", "applied", "output", "standard_uncertainty_pct"):
            assert math.isfinite(row[column]), (column, row)
        assert 0.0 < row["frequency_hz"] <= item.signals.sampling_hz / 2
        _check_samples(item.waveform)
    return "accepted"


def _list(values: dict, random: Random) -> str:
    """The list with any value changed, or only with other scales and frequencies."""
    if random.random() < 0.6:
        return mutate_toml(values, random)
    item = values["waveform"][0]
    item["output"] = item["output"] | {"scale": random.choice((-5.0, 1e-9, 100, 1e12, -0.25))}
    item |= random.choice(({}, {"frequency_hz": random.choice((80, 79.5, 3.0, 990.0, 1e6))}))
    item |= random.choice(({}, {"sampling_hz": random.choice((1e-3, 2000, 1999.5, 1e9, 1e14))}))
    return write_toml(values)


def _check_samples(waveform) -> None:
    """The samples are those that another reader finds in the file: wave, csv and NumPy's own."""
    read = load_waveform(waveform)
    for track, values in ((waveform.reference, read.reference), (waveform.output, read.output)):
        assert np.all(np.isfinite(np.asarray(values, float)))
        other = _READERS[waveform.file.suffix](waveform.file, track.name)
        if other is not None:
            np.testing.assert_array_equal(np.asarray(values, float), other)


def _read_wav(path: Path, track: str) -> np.ndarray | None:
    try:
        with wave.open(str(path)) as file:
            width, channels, data = file.getsampwidth(), file.getnchannels(), file.readframes(file.getnframes())
    except (wave.Error, EOFError, ValueError):  # floats are not for this reader
        return None
    if path.read_bytes().find(struct.pack("<HH", width * channels, 8 * width)) < 0:  # nor narrow samples in wide places
        return None
    if width > 4:
        return None
    column = np.frombuffer(data, "u1").reshape(-1, channels, width)[:, int(track) - 1]
    if width == 1:
        return column[:, 0].astype(float) - 128.0
    codes = np.zeros((len(column), 4), "u1")
    codes[:, 4 - width :] = column
    return codes.view("<i4")[:, 0].astype(float) / (1 if width in (3, 4) else 2**16)


def _read_csv(path: Path, track: str) -> np.ndarray | None:
    text = path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    first = text.split("\n", 1)[0]
    separator = max((";", "\t", ","), key=first.count)
    rows = [row for row in csv.reader(io.StringIO(text), delimiter=separator) if any(row)]
    place = [cell.strip() for cell in rows[0]].index(track)
    comma = separator != ","
    return np.array([float(row[place].replace(",", ".") if comma else row[place]) for row in rows[1:]])


def _read_npz(path: Path, track: str) -> np.ndarray:
    with np.load(path, allow_pickle=False) as file:
        return np.asarray(file[track], float)


_READERS = {".wav": _read_wav, ".csv": _read_csv, ".npz": _read_npz}
