"""The page of a record: the answer first, readable on light and dark, links that hold in a copied folder."""

from __future__ import annotations

import json
import re

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell

from tests.support.kept.sealed_record import ENTRY, executed, keep, shown
from vibcal_nb.display.style import DARK, VERDICT_LOOKS
from vibcal_nb.records.files.places import page_path
from vibcal_nb.records.seal.page_style import PAGE_STYLE

CARD = '<div class="answer"><h1>STG-1-V11 · linearity</h1><p>reads 8.2 % low</p></div>'


def answered():
    """An executed notebook that shows its answer, as the standard notebooks do."""
    notebook = executed()
    result = notebook.cells.pop(2)
    result.id, result.source = "answer", "show.answer(result)"
    result.outputs.append(shown({"text/html": CARD, "text/plain": "fail"}))
    parameters = new_code_cell('channel: str = "OTHER-CHANNEL"', id="parameters", metadata={"tags": ["parameters"]})
    notebook.cells[1:1] = [parameters, result]
    notebook.cells += [
        new_markdown_cell("## Method and sources\n\nA straight line.", id="method"),
        new_markdown_cell("## What if\n\nControls appear here.", id="explore-why"),
        new_code_cell("explore(result)", id="explore", metadata={"tags": ["what-if"]}),
    ]
    nbformat.validate(notebook)
    return notebook


def page_of(tmp_path, notebook, **options):
    return page_path(keep(tmp_path, notebook, **options)).read_text(encoding="utf-8")


def test_the_page_begins_with_the_answer_and_shows_no_set_up(tmp_path):
    page = page_of(tmp_path, answered())
    assert page.count("<h1") == 1
    body = page[page.index("</header>") :]
    assert re.sub(r"<[^>]*>", "", body).strip().startswith("STG-1-V11 · linearity")
    for absent in ("OTHER-CHANNEL", "show.answer", "Controls appear here", "explore(", "Kept in this record"):
        assert absent not in page
    assert body.index("20.12 mm/s pk") < body.index("A straight line.")


def test_what_a_cell_before_the_answer_shows_is_on_the_page(tmp_path):
    notebook = answered()
    notebook.cells[1].outputs = [shown({"text/plain": "something odd"})]
    assert "something odd" in page_of(tmp_path, notebook)


def test_a_notebook_without_a_card_shows_verdict_statement_and_sources(tmp_path):
    page = page_of(tmp_path, executed())
    assert ENTRY["statement"] in page
    assert "show.points(result)" in page


def test_links_lead_to_files_that_a_run_puts_around_the_record(tmp_path):
    out = tmp_path / "out"
    record = keep(out / "STG-1" / "2026-05-19", answered())
    (out / "site_overview.html").touch()
    record.with_name("STG-1-V11.pdf").touch()
    links = re.findall(r'<a href="([^"]*)"', page_path(record).read_text(encoding="utf-8"))
    assert len(links) == 3
    for link in links:
        assert (record.parent / link).resolve().is_file(), link


def test_a_revision_links_to_the_one_before(tmp_path):
    keep(tmp_path, answered())
    other = answered()
    other.cells[2].outputs[0]["data"]["text/plain"] = "otherwise"
    record = keep(tmp_path, other)
    (link,) = re.findall(r'<a href="([^"]*)">revision before', page_path(record).read_text(encoding="utf-8"))
    assert (record.parent / link).is_file()
    assert json.loads((record.parent / link).with_suffix(".ipynb").read_bytes())["cells"]


def luminance(colour):
    """Relative luminance, WCAG 2.2, definition of that term."""
    parts = [int(colour[place : place + 2], 16) / 255.0 for place in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """Contrast ratio, WCAG 2.2, definition of that term."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_on_white_is_21():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)  # the same definition's example


def page_colours(theme):
    rule = re.findall(r":root \{ ([^}]*)\}", PAGE_STYLE)[theme]
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", rule))


@pytest.mark.parametrize("theme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize("word", ["ink", "grey", "link", "note"])
@pytest.mark.parametrize("ground", ["paper", "ground"])
def test_every_word_of_a_page_has_the_contrast_that_wcag_asks_for(theme, word, ground):
    """WCAG 2.2, success criterion 1.4.3: 4.5 : 1."""
    colours = page_colours(theme)
    assert contrast(colours[word], colours[ground]) >= 4.5


@pytest.mark.parametrize("verdict", VERDICT_LOOKS)
def test_the_word_of_a_verdict_has_it_in_pictures_on_light_and_dark(verdict):
    colour = VERDICT_LOOKS[verdict].colour
    assert contrast(colour, "#ffffff") >= 4.5
    assert contrast(DARK[colour], DARK["#ffffff"]) >= 4.5
