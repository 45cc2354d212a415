"""A visit in one file: what goes in, what is refused of one that somebody made who does not wish us well.

ZIP: PKWARE APPNOTE 6.3 (names with forward slashes, no drive letters; external attributes hold the kind of a file on
Unix), Python's zipfile as what reads it a second time.
"""

from __future__ import annotations

import io
import json
import shutil
import stat
import subprocess
import zipfile

import pytest

from tests.support.kept.made_records import make_records
from tests.support.kept.performed import remember_performances
from vibcal_nb.problems import Refused
from vibcal_nb.records.bundle import unpack as unpacking
from vibcal_nb.records.bundle.manifest import BundleRefused, sum_of_bytes
from vibcal_nb.records.bundle.pack import write_bundle
from vibcal_nb.records.bundle.unpack import unpack
from vibcal_nb.running.commands.cli import main


@pytest.fixture(autouse=True, scope="module")
def remembered():
    end = remember_performances()
    yield
    end()


@pytest.fixture(scope="module")
def keys(tmp_path_factory):
    folder = tmp_path_factory.mktemp("keys")
    for name in ("d", "x"):
        command = ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", name, "-f", str(folder / name)]
        subprocess.run(command, check=True)
    public = " ".join((folder / "d.pub").read_text(encoding="utf-8").split()[:2])
    (folder / "signers").write_text(f"engineer.d@example.org {public}\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def made(tmp_path_factory, keys):
    """A bundle of one signed record, and the folder that it was made in, which is gone by then."""
    root = tmp_path_factory.mktemp("made")
    record = make_records(root)
    assert main(["verify", str(record), "--sign", "--name", "Engineer D", "--key", str(keys / "d")]) == 0
    out = root / "handed over.zip"
    signers = ["--allowed-signers", str(keys / "signers")]
    signed = ["--key", str(keys / "d"), "--name", "Engineer D"]
    inputs = ["--inputs", str(root / "site")]
    assert main(["bundle", str(record.parents[1]), "--out", str(out), *inputs, *signers, *signed]) == 0
    shutil.rmtree(root / "records")
    shutil.rmtree(root / "site")
    return out


def members(bundle):
    with zipfile.ZipFile(bundle) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def rezipped(tmp_path, files, name="changed.zip"):
    path = tmp_path / name
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for member, data in files.items():
            archive.writestr(member, data)
    return path


def test_a_bundle_holds_all_that_the_visit_is(made):
    names = set(members(made))
    home = "records/STG-1/2026-05-19"
    stem = f"{home}/STG-1-V11/linearity.as-found"
    assert {"index.html", "manifest.json", "manifest.json.sig", "allowed_signers", "records/register.sqlite"} <= names
    assert {f"{home}/results.json", f"{stem}.ipynb", f"{stem}.html", f"{home}/STG-1-V11/STG-1-V11.pdf"} <= names
    assert {f"{stem}.signoff-1.json", f"{stem}.signoff-1.json.sig"} <= names
    assert {"inputs/site/equipment.toml", "inputs/site/STG-1/asset.toml"} <= names
    assert "inputs/site/STG-1/2026-05-19/readings.csv" in names


def test_a_bundle_is_verified_elsewhere(made, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copy(made, tmp_path / "b.zip")
    assert main(["verify", "b.zip", "-v"]) == 0
    said = capsys.readouterr().out
    assert "compare it with your own" in said
    assert "signed as a whole by Engineer D: signature valid, key of engineer.d@example.org" in said
    assert "b.zip/records/STG-1/2026-05-19/STG-1-V11/linearity.as-found.ipynb: intact; page intact" in said
    assert "its inputs hold what it states" in said
    assert "signed off by Engineer D, reviewer" in said
    assert said.rstrip().endswith("4 in order.")


def test_a_list_of_ones_own_counts_before_the_bundles(made, tmp_path, keys, capsys):
    public = " ".join((keys / "x.pub").read_text(encoding="utf-8").split()[:2])
    (tmp_path / "mine").write_text(f"engineer.d@example.org {public}\n", encoding="utf-8")
    assert main(["verify", str(made), "--allowed-signers", str(tmp_path / "mine")]) == 1
    assert "SIGNATURE NOT BY AN ALLOWED SIGNER" in capsys.readouterr().out


def test_the_same_content_gives_the_same_bytes(tmp_path, monkeypatch):
    monkeypatch.setattr("vibcal_nb.records.bundle.pack.now", lambda: "2026-11-30T08:00:00+00:00")
    record = make_records(tmp_path)
    for name in ("a.zip", "b.zip"):
        write_bundle(record.parents[1], tmp_path / name)
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda files: files.update({"records/extra.html": b"x"}), "records/extra.html: there, and not listed"),
        (lambda files: files.pop("index.html"), "index.html: listed in manifest.json, and not there"),
        (lambda files: files.update({"index.html": b"<p>pass</p>"}), "index.html: not what manifest.json lists"),
        (lambda files: files.pop("manifest.json.sig"), "says that Engineer D signed it, and the signature is gone"),
    ],
)
def test_what_was_changed_is_told(made, tmp_path, capsys, change, said):
    files = members(made)
    change(files)
    assert main(["verify", str(rezipped(tmp_path, files))]) == 1
    assert said in capsys.readouterr().out


def test_a_manifest_written_anew_does_not_fit_its_signature(made, tmp_path, capsys):
    files = members(made)
    manifest = json.loads(files["manifest.json"])
    files["index.html"] = b"<p>all pass</p>"
    manifest["files"]["index.html"] = sum_of_bytes(files["index.html"])
    files["manifest.json"] = json.dumps(manifest).encode()
    assert main(["verify", str(rezipped(tmp_path, files))]) == 1
    assert "its signature does not fit its manifest" in capsys.readouterr().out


@pytest.mark.parametrize(
    "name",
    [
        "../outside.txt",
        "/etc/outside.txt",
        "records/../../outside.txt",
        "C:/outside.txt",
        "records\\..\\outside.txt",
        "records//x",
        "records/bell\x07.txt",
        "records/ends. ",
        "/".join(["deep"] * 20),
    ],
)
def test_names_that_lead_elsewhere_are_refused(tmp_path, name):
    path = tmp_path / "slip.zip"
    with zipfile.ZipFile(path, "w") as archive:
        item = zipfile.ZipInfo("x")
        item.filename = name
        archive.writestr(item, b"outside")
    inside = tmp_path / "a" / "b"
    inside.mkdir(parents=True)
    with pytest.raises(BundleRefused):
        unpack(path, inside)
    assert [item for item in tmp_path.rglob("*") if item.is_file()] == [path]


def test_links_are_refused(tmp_path):
    path = tmp_path / "link.zip"
    with zipfile.ZipFile(path, "w") as archive:
        item = zipfile.ZipInfo("records")
        item.create_system, item.external_attr = 3, (stat.S_IFLNK | 0o777) << 16
        archive.writestr(item, "/etc")
    with pytest.raises(BundleRefused, match="a link or a device"):
        unpack(path, tmp_path)


def test_a_bomb_is_refused_before_it_is_unpacked(tmp_path):
    path = rezipped(tmp_path, {"manifest.json": b"\0" * 50_000_000})
    with pytest.raises(BundleRefused, match="unpacks to more than a file of a visit holds"):
        unpack(path, tmp_path / "in")
    assert not (tmp_path / "in").exists()


def test_a_file_that_lies_about_its_size_is_refused(tmp_path):
    path = rezipped(tmp_path, {"manifest.json": b"x" * 1000})
    data = bytearray(path.read_bytes())
    at = data.rindex(b"PK\x01\x02") + 24  # the size unpacked, in the directory at the end
    data[at : at + 4] = (10).to_bytes(4, "little")
    path.write_bytes(data)
    with pytest.raises(BundleRefused):
        unpack(path, tmp_path / "in")


def test_two_names_that_one_file_system_takes_for_one_are_refused(tmp_path):
    path = rezipped(tmp_path, {"records/A.html": b"1", "records/a.html": b"2"})
    with pytest.raises(BundleRefused, match="twice"):
        unpack(path, tmp_path / "in")


def test_more_than_a_visit_holds_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(unpacking, "MOST_FILES", 3)
    path = rezipped(tmp_path, {f"records/{n}.html": b"" for n in range(4)})
    with pytest.raises(BundleRefused, match="more than 3 files"):
        unpack(path, tmp_path / "in")


def test_a_directory_that_lies_before_the_start_is_no_readable_zip(tmp_path):
    path = rezipped(tmp_path, {"records/a.html": b"a"})
    data = bytearray(path.read_bytes())
    end = data.rindex(b"PK\x05\x06")  # APPNOTE 4.3.16: end of central directory; offset of its start at 16
    data[end + 16 : end + 20] = (0xFFFF).to_bytes(4, "little")
    path.write_bytes(data)
    with pytest.raises(BundleRefused, match=f"{path.name}: found a file that is no readable ZIP"):
        unpack(path, tmp_path / "in")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"no zip", "no readable ZIP"),
        (b"", "no readable ZIP"),
        ({"a.txt": b"x"}, "no manifest.json"),
        ({"manifest.json": b"{"}, "found no manifest"),
        (
            {"manifest.json": b'{"format": 9, "asset": "", "visit": "", "made": "", "by": "", "files": {}}'},
            "format '9'",
        ),
        (
            {"manifest.json": b'{"format": 1, "asset": "", "visit": "", "made": "", "by": "", "files": {"a": 1}}'},
            "a sum",
        ),
    ],
)
def test_what_is_no_bundle_is_refused_in_a_sentence(tmp_path, capsys, data, said):
    path = tmp_path / "b.zip"
    if isinstance(data, bytes):
        path.write_bytes(data)
    else:
        path = rezipped(tmp_path, data)
    assert main(["verify", str(path)]) == 2
    captured = capsys.readouterr()
    assert said in captured.err
    assert "Traceback" not in captured.err


def test_a_cut_off_bundle_is_refused(made, tmp_path):
    data = made.read_bytes()
    for size in (len(data) // 3, len(data) - 10):
        (tmp_path / "cut.zip").write_bytes(data[:size])
        with pytest.raises(BundleRefused):
            unpack(tmp_path / "cut.zip", tmp_path / f"in{size}")


def test_what_cannot_be_packed_is_refused(tmp_path, capsys):
    with pytest.raises(Refused, match=r"there is no results\.json here"):
        write_bundle(tmp_path, tmp_path / "b.zip")
    assert main(["bundle", str(tmp_path), "--key", "k"]) == 2
    assert "give --name" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_bundle_is_given_alone(made, tmp_path, capsys):
    assert main(["verify", str(made), str(tmp_path)]) == 2
    assert "give it alone" in capsys.readouterr().err


def test_the_index_loads_nothing_and_links_to_what_is_there(made):
    files = members(made)
    page = files["index.html"].decode()
    assert "default-src 'none'" in page
    assert "<script" not in page
    links = [part.partition('"')[0] for part in page.split('href="')[1:]]
    assert links
    assert set(links) <= set(files)
    assert "Engineer D, reviewer" in page
    assert io.BytesIO(files["records/register.sqlite"]).read(15) == b"SQLite format 3"
