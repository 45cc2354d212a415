"""Forgeries: each by somebody who has the whole folder and the package, and has made the rest agree as far as he can.

Each is done to a folder of one record that was superseded once and signed off: what `verify` calls it and why.
"""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
from contextlib import closing

import pytest

from tests.support.kept.made_records import make_records, reseal
from tests.support.kept.performed import remember_performances
from vibcal_nb.records.files.canonical import kept_bytes, results_bytes
from vibcal_nb.records.register.rebuild import rebuild_register
from vibcal_nb.records.register.register_rows import COLUMNS, chain_hash
from vibcal_nb.records.report import channel_report
from vibcal_nb.records.seal.page import NO_SUM, has_own_sum, record_page, with_sum
from vibcal_nb.records.seal.record_content import result_of
from vibcal_nb.records.seal.seal import digest_of, seal_of
from vibcal_nb.records.seal.sources import sum_of_sources
from vibcal_nb.records.signoff.places import list_signoffs, signature_path
from vibcal_nb.running.commands.cli import main
from vibcal_nb.running.verify.states import State
from vibcal_nb.running.verify.verifier import Verifier
from vibcal_nb.running.verify.verify_files import verify_path

CODE = "points"


@pytest.fixture(autouse=True, scope="module")
def remembered():
    end = remember_performances()
    yield
    end()


@pytest.fixture(scope="module")
def original(tmp_path_factory):
    root = tmp_path_factory.mktemp("forged")
    make_records(root, gain=4.05)
    record = make_records(root, gain=4.06)
    assert main(["verify", str(record), "--sign", "--name", "Engineer D"]) == 0
    shutil.copytree(root, root.with_name("original"))
    return record


@pytest.fixture
def record(original):
    root = original.parents[4]
    shutil.rmtree(root)
    shutil.copytree(root.with_name("original"), root)
    return original


def found_in(record):
    return [item for item in verify_path(record.parents[3], Verifier()) if item.findings]


def agree(record):
    """Make page, results file, register and sign-off agree with a record; a report that no longer would goes."""
    content = json.loads(record.read_bytes())
    record.with_suffix(".html").write_bytes(record_page(content))
    results = record.parents[1] / "results.json"
    head = json.loads(results.read_bytes())
    entry = {**result_of(content), "record": f"{record.parent.name}/{record.name}", "seal": seal_of(content)["digest"]}
    results.write_bytes(results_bytes({**head, "results": [entry]}))
    for path in (*record.parent.glob("*.pdf"), *list_signoffs(record)):
        path.unlink()
    (record.parents[3] / "register.sqlite").unlink()
    rebuild_register(record.parents[3])


def cells_of(content, kind="code"):
    return [cell for cell in content["cells"] if cell["cell_type"] == kind]


def outputs_of(content, mime):
    return [
        (output["data"], mime)
        for cell in cells_of(content)
        for output in cell["outputs"]
        if mime in output.get("data", {})
    ]


def replace_shown(content, pattern, text, mime="text/html"):
    """Replace the first find of a pattern in what the record shows."""
    for data, kind in outputs_of(content, mime):
        shown = "".join(data[kind])
        changed = re.sub(pattern, text, shown, count=1)
        if changed != shown:
            data[kind] = changed.splitlines(keepends=True) if isinstance(data[kind], list) else changed
            return
    raise AssertionError(f"nothing shows {pattern}")


def own(content):
    return content["metadata"]["vibcal_nb"]


# --- of the record: each changes its content; the seal and all beside it are made to agree ---


def a_number_in_a_table(content):
    replace_shown(content, r"20\.01", "20.02")


def a_line_of_a_figure(content):
    replace_shown(content, r"(d=&#x27;M\d+ [\d.]+L)(\d+)", r"\g<1>9\g<2>")


def a_number_of_the_result(content):
    result_of(content)["quantities"][0]["sensitivity"] = 4.0


def a_verdict_and_its_statement(content):
    result_of(content)["verdict"] = "conditional pass"


def a_sentence_of_the_text(content):
    cells_of(content, "markdown")[0]["source"] = ["# Linearity, approved\n"]


def a_cell_added(content):
    cell = {"cell_type": "markdown", "id": "approved", "metadata": {}, "source": ["Approved."]}
    content["cells"].append(cell)


def a_cell_taken_out(content):
    content["cells"].remove(cells_of(content, "markdown")[-1])


def cells_in_another_order(content):
    content["cells"][-1], content["cells"][-2] = content["cells"][-2], content["cells"][-1]


def an_output_taken_out(content):
    next(cell for cell in cells_of(content) if cell["outputs"])["outputs"].pop()


def an_output_added(content):
    outputs = next(cell for cell in cells_of(content) if cell["outputs"])["outputs"]
    outputs.append({"output_type": "display_data", "data": {"text/html": "<b>Approved</b>"}, "metadata": {}})


def a_text_hidden_in_an_output(content):
    replace_shown(content, "</table>", '</table><span style="color: #fff">approved</span>')


def a_picture_attached_to_a_text(content):
    cells_of(content, "markdown")[0]["attachments"] = {"a.png": {"image/png": "AAAA"}}


def a_cell_that_shows_other_readings(content):
    """What is kept stays true, what is shown is of faked readings: the source says so, and its sum with it."""
    cell = cells_of(content)[-2]
    cell["source"] = ["show.points(faked)\n"]
    own(content)["notebook"]["sha256"] = sum_of_sources(content)


def a_cell_other_than_its_notebook(content):
    cells_of(content)[-2]["source"] = ["show.points(faked)\n"]


def another_name_of_its_notebook(content):
    own(content)["notebook"]["file"] = "my_linearity.ipynb"


def an_entry_of_its_metadata(content):
    own(content)["approved"] = True


def what_a_cell_says_of_itself(content):
    cells_of(content)[0]["metadata"]["trusted"] = True


def the_language_of_the_notebook(content):
    content["metadata"]["language_info"] = {"name": "python", "version": "3.8.1"}


def the_parameters_of_its_seal(content):
    own(content)["seal"]["parameters"]["channel"] = "STG-1-V12"


def a_reading_that_it_states(content):
    """The reading is stated otherwise, and the outputs are still of the reading that was made."""
    for data, kind in outputs_of(content, "application/vnd.vibcal-nb.inputs+json"):
        data[kind]["visits"][0]["rows"]["linearity as-found"][1] = '[2,50.0,2.01,"mm/s pk",8.0,"mV pk"]'


def other_surroundings_and_a_number(content):
    own(content)["seal"]["environment"]["numpy"] = "9.9.9"
    a_number_of_the_result(content)


def the_channel_of_its_seal(content):
    own(content)["seal"]["record"]["channel"] = "STG-1-V12"


def a_revision_left_out(content):
    own(content)["seal"]["revision"] = 3


def no_revision_before_it(content):
    own(content)["seal"]["replaces"] = None
    own(content)["seal"]["revision"] = 1


CONTENT = {
    a_number_in_a_table: "performed again: cell",
    a_line_of_a_figure: "performed again: cell",
    a_number_of_the_result: r"quantities\[1\].sensitivity: 4.0 in the record, 4.0599",
    a_verdict_and_its_statement: "verdict: 'conditional pass' in the record",
    a_sentence_of_the_text: "its cells are not those of the notebook that it names",
    a_cell_added: "its cells are not those",
    a_cell_taken_out: "its cells are not those",
    cells_in_another_order: "its cells are not those",
    an_output_taken_out: "output .*: missing",
    an_output_added: "output .*: added",
    a_text_hidden_in_an_output: "performed again: cell",
    a_picture_attached_to_a_text: "attachments",
    a_cell_that_shows_other_readings: "made with the package's own notebook, and was made with another",
    a_cell_other_than_its_notebook: "its cells are not those",
    another_name_of_its_notebook: "my_linearity.ipynb",
    an_entry_of_its_metadata: "its metadata holds 'approved', which no record has",
    what_a_cell_says_of_itself: "id or metadata: not what the package's own notebook has",
    the_language_of_the_notebook: "metadata language_info",
    the_parameters_of_its_seal: "it is sealed as channel|its notebook fails",
    a_reading_that_it_states: "performed again: cell|is not what it is stamped with",
    other_surroundings_and_a_number: "in other surroundings",
    the_channel_of_its_seal: "it is sealed as channel 'STG-1-V12', and is of 'STG-1-V11'",
    a_revision_left_out: "it is revision 3 and replaces revision 1",
    no_revision_before_it: "is of no revision that led to it",
}


@pytest.mark.parametrize("change", CONTENT, ids=lambda change: change.__name__)
def test_what_a_record_holds_is_performed_again_and_compared(record, change, capsys):
    """Sealed anew by the package, page, results and register made to agree: the record itself gives it away."""
    reseal(record, change)
    agree(record)
    found = found_in(record)
    assert any(re.search(CONTENT[change], text) for item in found for text in item.told()), [f.told() for f in found]
    assert all(item.state in (State.ALTERED, State.NOT_PERFORMED) for item in found if item.path == record)
    assert main(["verify", str(record), "--sign", "--name", "Engineer D"]) == 1
    assert list_signoffs(record) == []
    capsys.readouterr()


# --- of what lies beside it: the record is as it was made ---


def a_page_with_its_own_sum(record):
    page = record.with_suffix(".html")
    text = page.read_text(encoding="utf-8").replace("20.01", "20.02")
    blank = re.sub(r'(page-sha256" content=")[0-9a-f]{64}', rf"\g<1>{NO_SUM}", text)
    page.write_bytes(with_sum(blank).encode())
    assert has_own_sum(page.read_bytes())


def the_page_of_the_revision_before(record):
    shutil.copy(next(record.parent.glob("superseded/*.html")), record.with_suffix(".html"))


def a_report_of_one_page_with_the_same_seals(record):
    pdf = next(record.parent.glob("*.pdf"))
    seals = channel_report.seals_in(pdf.read_bytes())
    content = {"title": "Approved", "author": "", "identity": "", "keywords": [f"seal {seal}" for seal in seals]}
    template = "#let d = json(bytes(sys.inputs.data))\n#set document(title: d.title, keywords: d.keywords)\nApproved."
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(channel_report, "SHEET_TEMPLATE", template)
        pdf.write_bytes(channel_report.typeset(content, made="2026-05-20T08:00:00+00:00"))
    assert channel_report.has_own_sum(pdf.read_bytes())


def the_report_of_the_revision_before(record):
    shutil.copy(next(record.parent.glob("superseded/*.pdf")), next(record.parent.glob("*.pdf")))


def a_verdict_in_the_results(record):
    results = record.parents[1] / "results.json"
    content = json.loads(results.read_bytes())
    content["results"][0]["verdict"] = "fail"
    results.write_bytes(results_bytes(content))


def a_second_entry_in_the_results(record):
    results = record.parents[1] / "results.json"
    content = json.loads(results.read_bytes())
    content["results"].append(content["results"][0])
    results.write_bytes(results_bytes(content))


def the_revision_before_put_back(record):
    old = next(record.parent.glob("superseded/*.ipynb"))
    shutil.copy(old, record)
    shutil.copy(old.with_suffix(".html"), record.with_suffix(".html"))


def the_revision_before_taken_away(record):
    shutil.rmtree(record.parent / "superseded")


def another_in_place_of_the_revision_before(record):
    old = next(record.parent.glob("superseded/*.ipynb"))
    reseal(old, lambda content: content["cells"][0].update(source=["# Other"]))


def a_revision_that_never_was(record):
    old = next(record.parent.glob("superseded/*.ipynb"))
    extra = old.with_name(old.name.replace(".rev1", ".rev1-2"))
    shutil.copy(old, extra)
    reseal(extra, lambda content: content["cells"][0].update(source=["# Other"]))


def the_folder_renamed(record):
    record.parents[1].rename(record.parents[1].with_name("2025-05-19"))


def the_channel_renamed(record):
    record.parent.rename(record.parent.with_name("STG-1-V12"))


def the_signoff_taken_away(record):
    list_signoffs(record)[0].unlink()


def the_signoff_under_another_name(record):
    path = list_signoffs(record)[0]
    said = {k: v for k, v in json.loads(path.read_bytes()).items() if k != "digest"} | {"name": "Engineer E"}
    path.write_bytes(kept_bytes({**said, "digest": digest_of(said)}))


def a_signature_of_nothing(record):
    signature_path(list_signoffs(record)[0]).write_bytes(b"-----BEGIN SSH SIGNATURE-----\n")


def a_row_of_the_register_with_its_hash(record):
    """The row's verdict, its hash and the chain behind it, by somebody who takes the triggers away first."""
    with closing(sqlite3.connect(record.parents[3] / "register.sqlite")) as register, register:
        register.execute("DROP TRIGGER results_no_update")
        columns = ", ".join(COLUMNS)
        sequence, previous, *values = register.execute(
            f"SELECT sequence, previous, {columns} FROM results ORDER BY sequence DESC LIMIT 1"
        ).fetchone()
        values[COLUMNS.index("seal")] = "0" * 64
        digest = chain_hash(sequence, previous, values)
        register.execute("UPDATE results SET seal = ?, hash = ? WHERE sequence = ?", ("0" * 64, digest, sequence))


def the_last_row_of_the_register(record):
    with closing(sqlite3.connect(record.parents[3] / "register.sqlite")) as register, register:
        register.execute("DROP TRIGGER results_no_delete")
        register.execute("DELETE FROM results WHERE sequence = (SELECT MAX(sequence) FROM results)")


def the_record_without_its_row_page_and_results(record):
    for path in (
        record.with_suffix(".html"),
        record.parents[1] / "results.json",
        record.parents[3] / "register.sqlite",
    ):
        path.unlink()


def everything_of_the_record_but_the_register(record):
    shutil.rmtree(record.parents[1])


def a_link_in_place_of_the_record(record):
    elsewhere = record.parents[4] / "elsewhere.ipynb"
    shutil.move(record, elsewhere)
    reseal(elsewhere, lambda content: content["cells"][0].update(source=["# Other"]))
    record.symlink_to(elsewhere)


BESIDE = {
    a_page_with_its_own_sum: (State.ALTERED, "does not show what the record holds"),
    the_page_of_the_revision_before: (State.INCOMPLETE, "its page is still of the revision before"),
    a_report_of_one_page_with_the_same_seals: (State.ALTERED, "it does not show what its records hold"),
    the_report_of_the_revision_before: (State.INCOMPLETE, "of revisions that were superseded since"),
    a_verdict_in_the_results: (State.ALTERED, "results.json differs from the record: verdict"),
    a_second_entry_in_the_results: (State.ALTERED, "more than one entry of one record"),
    the_revision_before_put_back: (State.ALTERED, "the register holds a later revision of it"),
    the_revision_before_taken_away: (State.ALTERED, "revision 1, which it replaces .* is gone"),
    another_in_place_of_the_revision_before: (State.ALTERED, "is not the one that was set aside"),
    a_revision_that_never_was: (State.ALTERED, "is of no revision that led to it"),
    the_folder_renamed: (State.ALTERED, "where another record belongs"),
    the_channel_renamed: (State.ALTERED, "where another record belongs"),
    the_signoff_taken_away: (State.ALTERED, "its sign-off by Engineer D.* was taken away"),
    the_signoff_under_another_name: (State.ALTERED, "its sign-off by Engineer D.* was taken away"),
    a_signature_of_nothing: (State.ALTERED, "sign"),
    a_row_of_the_register_with_its_hash: (State.ALTERED, "not the record that was registered"),
    the_last_row_of_the_register: (State.ALTERED, "missing: what stood there was removed"),
    the_record_without_its_row_page_and_results: (State.INCOMPLETE, "its page .* is not there"),
    everything_of_the_record_but_the_register: (State.ALTERED, "registered, and no longer there"),
    a_link_in_place_of_the_record: (State.ALTERED, "Other|its cells are not those"),
}


@pytest.mark.parametrize("forge", BESIDE, ids=lambda forge: forge.__name__)
def test_what_lies_beside_a_record_has_to_agree_with_it(record, forge):
    root = record.parents[3]
    forge(record)
    found = [item for item in verify_path(root, Verifier()) if item.findings]
    state, said = BESIDE[forge]
    assert any(re.search(said, text) for item in found for text in item.told(state)), [f.told() for f in found]


def test_an_untouched_folder_is_in_order(record):
    assert found_in(record) == []


def test_made_from_a_copy_of_the_site_with_wider_limits_that_is_gone_is_not_performed_again(record, capsys):
    shutil.rmtree(record.parents[4] / "site")
    found = found_in(record)
    assert {item.state for item in found} == {State.NOT_PERFORMED}
    for path in list_signoffs(record):
        path.unlink()
    assert main(["verify", str(record), "--sign", "--name", "Engineer D"]) == 1
    assert list_signoffs(record) == []
    capsys.readouterr()
