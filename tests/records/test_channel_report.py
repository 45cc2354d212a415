"""The sheet of a channel: the answer first, every judged quantity, legible, inert, tied to records by seals."""

from __future__ import annotations

import hashlib
import io
import json
import re

import nbformat
import pytest
from pypdf import PdfReader

from tests.support.kept.channel_report import keep_results
from tests.support.kept.made_records import reseal
from tests.support.places import DEMO
from tests.support.sites.plants import ASSET, VISIT, build_site, linearity_rows
from vibcal_nb.inputs.load_visits import load_visit
from vibcal_nb.records.report.channel_report import (
    SheetRefused,
    has_own_sum,
    seals_in,
    typeset_again,
    write_channel_sheet,
)
from vibcal_nb.records.report.visit_reports import list_due_sheets, make_sheets
from vibcal_nb.records.seal.record_content import inputs_of
from vibcal_nb.records.seal.seal import seal_of


def text_of(pdf):
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


CHANNELS = [
    ("STG-1/2026-05-19", "STG-1-V12", 5),  # as found and as left, and no record of the whole channel
    ("FDF-3/2026-05-05", "FDF-3-V11", 4),  # a live zero
    ("BFP-2/2026-04-21", "BFP-2-A11", 5),
]


@pytest.fixture(scope="module", params=CHANNELS, ids=lambda c: c[1])
def sheet(request, tmp_path_factory):
    visit, channel, _ = request.param
    out = tmp_path_factory.mktemp("records")
    folder = load_visit(DEMO / visit)
    entries = keep_results(folder, out, channel=channel)
    path = write_channel_sheet(entries, results_folder=out)
    return entries, path.read_bytes(), request.param


def test_the_first_page_holds_answer_and_every_judged_quantity(sheet):
    entries, pdf, _ = sheet
    first = re.sub(r"\s+", " ", PdfReader(io.BytesIO(pdf)).pages[0].extract_text())
    assert "What to do" in first or {entry["verdict"] for entry in entries} == {"pass"}
    by_hand, stated = "Back in service by the site's procedure" in first, "Back in service at 14:05" in first
    assert (by_hand, stated) == ((False, True) if sheet[2][1] == "BFP-2-A11" else (True, False))
    assert "performed, date" in first and "reviewed, date" in first
    for entry in entries:
        if entry["analysis"] == "linearity":
            for at in entry["quantities"]:
                assert f"sensitivity at {at['frequency_hz']:g} Hz" in first
                assert f"{at['deviation_pct']:+.1f}".replace("-", "−") in first


def test_protection_that_is_not_proved_back_stands_on_the_first_page_with_a_line_to_fill_in(tmp_path):
    inhibit = """
[inhibit]
permit = "P-1"
channels = ["STG-1-V11"]
off = "08:15"
by = "Technician B"
told = ["control room"]
"""
    folder = load_visit(build_site(tmp_path / "site", linearity_rows(), visit=VISIT + inhibit))
    out = tmp_path / "records"
    out.mkdir()
    path = write_channel_sheet(keep_results(folder, out, channel="STG-1-V11"), results_folder=out)
    first = re.sub(r"\s+", " ", PdfReader(io.BytesIO(path.read_bytes())).pages[0].extract_text())
    assert "INHIBITED SINCE 08:15 AND NOT PROVED BACK IN SERVICE" in first
    assert "under P-1 by Technician B; told: control room" in first
    assert "By, date, time:" in first


def test_each_record_stands_there_with_the_sum_of_its_numbers(sheet):
    """RFC 8785 orders and writes JSON as Python does for the numbers and plain names that results hold."""
    entries, pdf, _ = sheet
    text = text_of(pdf).replace("\n", "")
    for entry in entries:
        plain = json.dumps(entry["quantities"], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert hashlib.sha256(plain.encode()).hexdigest() in text


def test_what_is_of_several_visits_gives_its_verdict_and_first_finding(sheet):
    entries, pdf, _ = sheet
    (drift,) = [entry for entry in entries if entry["analysis"] == "drift"]
    text = re.sub(r"\s+", " ", text_of(pdf))
    assert "Drift, as found" in text
    _, first, *rest = drift["statement"].split(". ")
    assert first[:40] in text
    assert rest and rest[-1][:40] not in text, "the record says the rest"


def test_it_is_concise_titled_and_tagged(sheet):
    entries, pdf, (_, channel, longest) = sheet
    reader = PdfReader(io.BytesIO(pdf))
    assert 2 <= len(reader.pages) <= longest
    assert reader.metadata.title == f"Vibration channel {channel}"
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    text = text_of(pdf)
    for number, page in enumerate(reader.pages, start=1):
        assert f"page {number} of {len(reader.pages)}" in page.extract_text()
        assert channel in page.extract_text()
    for entry in entries:
        assert entry["verdict"] in text
        assert entry["seal"] in text.replace("\n", "")


def test_figures_are_vectors_and_fonts_are_embedded(sheet):
    _, pdf, _ = sheet
    reader = PdfReader(io.BytesIO(pdf))
    assert not any(page.images for page in reader.pages)
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(inner["/FontDescriptor"].get_object())


def test_it_carries_the_seals_and_its_own_sum(sheet):
    entries, pdf, _ = sheet
    assert set(seals_in(pdf)) == {entry["seal"] for entry in entries}
    assert has_own_sum(pdf)
    for place in range(0, len(pdf), len(pdf) // 50):
        assert not has_own_sum(pdf[:place] + bytes([pdf[place] ^ 1]) + pdf[place + 1 :]), place


@pytest.fixture
def small(tmp_path):
    folder = load_visit(build_site(tmp_path / "site", linearity_rows()))
    return folder, keep_results(folder, tmp_path / "out", channel="STG-1-V11"), tmp_path / "out"


def test_it_is_made_once_and_again_when_a_record_changes(small):
    _, _, out = small
    due = list_due_sheets(out)
    assert len(due) == 1
    assert make_sheets(due) == []
    first = due[0].path.read_bytes()
    assert list_due_sheets(out) == []
    assert make_sheets(due) == []
    assert due[0].path.read_bytes() == first
    due[0].path.write_bytes(first + b" ")
    assert len(list_due_sheets(out)) == 1


def test_no_sheet_of_a_record_that_was_changed_or_does_not_follow(small):
    _, entries, out = small
    record = out / entries[0]["record"]
    sealed = record.read_bytes()
    record.write_bytes(sealed.replace(b'"pass"', b'"fail"', 1))
    with pytest.raises(SheetRefused, match="is not intact"):
        write_channel_sheet(entries, results_folder=out)
    record.write_bytes(sealed)
    reseal(record, lambda content: inputs_of(content)["visits"][0]["channel"]["tolerance"].update(reading_pct=0.5))
    with pytest.raises(SheetRefused, match="does not follow from what it was made from"):
        write_channel_sheet(entries, results_folder=out)
    (said,) = make_sheets(list_due_sheets(out))
    assert said.startswith("STG-1-V11.pdf: ")


def test_a_report_is_typeset_again_from_its_records_byte_for_byte(small):
    _, entries, out = small
    path = write_channel_sheet(entries, results_folder=out)
    assert typeset_again([out / entry["record"] for entry in entries]) == path.read_bytes()


def test_another_report_is_set_aside_before_it_is_replaced(small):
    _, entries, out = small
    path = write_channel_sheet(entries, results_folder=out)
    pdf = path.read_bytes()
    path.write_bytes(b"a drawing of somebody's own")
    assert write_channel_sheet(entries, results_folder=out).read_bytes() == pdf
    (aside,) = (path.parent / "superseded").glob("*.pdf")
    assert aside.read_bytes() == b"a drawing of somebody's own"


def test_hostile_text_is_shown_and_does_nothing(tmp_path):
    nasty = r"#read(\"/etc/passwd\") $x$ *b* \\ <script> `code` @ref // end"
    visit = VISIT.replace("Technician A", nasty) + f'notes = "{nasty}"\n'
    folder = load_visit(build_site(tmp_path / "site", linearity_rows(), visit=visit))
    entries = keep_results(folder, tmp_path / "out", channel="STG-1-V11")
    text = text_of(write_channel_sheet(entries, results_folder=tmp_path / "out").read_bytes())
    assert '#read("/etc/passwd") $x$ *b* \\ <script> `code`' in re.sub(r"\s+", " ", text)
    assert "root:" not in text


def test_what_is_missing_is_said_and_what_is_given_is_not(tmp_path):
    bare = load_visit(build_site(tmp_path / "bare", linearity_rows()))
    text = text_of(
        write_channel_sheet(
            keep_results(bare, tmp_path / "a", channel="STG-1-V11"), results_folder=tmp_path / "a"
        ).read_bytes()
    )
    for asked in (
        "item, unambiguously identified",
        "laboratory, with address",
        "customer, with contact",
        "conditions",
        "traceability of REF-1",
    ):
        assert asked in text
    assert "it claims no accreditation" in re.sub(r"\s+", " ", text)
    equipment = (tmp_path / "bare" / "equipment.toml").read_text(encoding="utf-8")
    equipment = equipment.replace('serial = "', 'certificate = "C-17, a laboratory"\nserial = "')
    given = 'laboratory = "L, street 1"\ncustomer = "C, mail"\nambient_c = 21\nreviewed_by = "Engineer D"\n'
    items = '[channels.STG-1-V11.items]\nsensor = { serial = "S-1041" }\n'
    full = load_visit(
        build_site(tmp_path / "full", linearity_rows(), visit=VISIT + given, equipment=equipment, asset=ASSET + items)
    )
    entries = keep_results(full, tmp_path / "b", channel="STG-1-V11")
    text = text_of(write_channel_sheet(entries, results_folder=tmp_path / "b").read_bytes())
    assert "who authorises" in text  # by a sign-off alone: a name that was typed authorises nothing
    assert "laboratory, with address" not in text
    assert "customer, with contact" not in text
    assert "unambiguously" not in text
    assert seal_of(json.loads((tmp_path / "b" / entries[0]["record"]).read_bytes()))["digest"] in text.replace("\n", "")
    assert nbformat.read(tmp_path / "b" / entries[0]["record"], as_version=4).metadata["vibcal_nb"]["seal"]
