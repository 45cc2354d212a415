"""The touchable figure in chromium: mouse, keyboard and touch, its own JavaScript with the real panel behind it."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from io import BytesIO
from random import Random

import pytest
from PIL import Image

from tests.browser.axe import serious_violations
from tests.browser.lab import running_browser
from tests.browser.touched import Touched
from tests.support.running.panels import VISIT
from tests.support.sites.examples import example_of
from vibcal_nb.analysis.channel.channel_tests import ANALYSE
from vibcal_nb.model.case import EXPLORATION, select_case
from vibcal_nb.notebook.touch.explored import ResultSubject
from vibcal_nb.notebook.touch.panel import TouchPanel

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def browser():
    with running_browser() as new_page:
        yield new_page


@pytest.fixture(scope="module")
def results():
    found = {}
    for test in ANALYSE:
        visit, channel = example_of(test, "STG-1-V11")
        found[test] = ANALYSE[test](select_case(visit, channel=channel, test=test, condition="as-found"))
    case = select_case(VISIT, channel="STG-1-V11", test="linearity", condition="as-found")
    found["left out"] = ANALYSE["linearity"](case.with_excluded([8]))
    return found


@pytest.fixture
def touched(browser, results, request):
    page = browser()
    yield Touched(page, TouchPanel(ResultSubject(results[getattr(request, "param", "linearity")])))
    page.close()


def differences(touched: Touched) -> list[str]:
    return touched.page.locator(".differences li").all_inner_texts()


def test_a_click_leaves_the_nearest_reading_out_and_the_next_takes_it_back(touched):
    touched.page.get_by_label("why the next reading is left out").fill("cable moved")
    x, y = touched.centre(touched.mark(8))
    touched.page.mouse.click(x, y)
    touched.tick(8).and_(touched.page.locator(":checked")).wait_for()
    assert differences(touched) == ["row 8 left out: cable moved"]
    assert touched.headline() == "what if, not the record: pass | record: pass"
    touched.page.mouse.click(x, y)
    touched.page.get_by_text("as in the record: pass").first.wait_for()
    assert touched.panel.outcome is touched.panel.record
    assert touched.errors == []


def test_hover_names_the_reading_in_figure_and_table(touched):
    touched.page.mouse.move(*touched.centre(touched.mark(8)))
    tip = touched.page.locator(".tip")
    tip.wait_for()
    assert tip.inner_text().startswith("row 8, ")
    assert all(word in tip.inner_text() for word in ("level", "output", "deviation", "±", "pass"))
    assert touched.page.locator("tr.pointed").get_attribute("data-row") == "8"
    touched.page.mouse.move(2, 2)
    tip.wait_for(state="hidden")


def test_the_readings_are_reached_named_and_left_out_by_keyboard_and_keep_focus(touched):
    page = touched.page
    page.locator(".reading[tabindex='0']").focus()
    first = page.evaluate("document.activeElement.dataset.row")
    page.keyboard.press("ArrowRight")
    row = int(page.evaluate("document.activeElement.dataset.row"))
    assert str(row) != first
    assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith(f"leave out row {row}, ")
    page.keyboard.press("Space")
    page.locator(f".reading[data-row='{row}'][aria-checked=true]").wait_for()
    assert page.evaluate("document.activeElement.dataset.row") == str(row)
    assert differences(touched) == [f"row {row} left out: {EXPLORATION}"]
    page.keyboard.press("Enter")
    page.locator(f".reading[data-row='{row}'][aria-checked=false]").wait_for()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('role')") == "slider"


def test_a_limit_moves_by_keys_and_the_scale_rests_until_it_is_left(touched):
    grip = touched.grip("tolerance, ± %")
    grip.focus()
    top = touched.page.locator(".frame text").all_text_contents()
    for _ in range(3):
        touched.page.keyboard.press("PageDown")
        touched.rest()
    touched.page.keyboard.press("ArrowDown")
    touched.rest()
    assert touched.panel.stand.values["tolerance_pct"] == pytest.approx(1.9)
    assert grip.get_attribute("aria-valuetext") == "1.9"
    after = touched.page.locator(".frame text").all_text_contents()
    assert [text for text in after if "record" not in text] == [text for text in top if "record" not in text]
    touched.page.get_by_role("spinbutton", name="tolerance, ± %").fill("0.7")
    touched.page.keyboard.press("Enter")
    touched.page.get_by_text("what if, not the record: fail | record: pass").first.wait_for()
    assert touched.errors == []


def test_a_drag_of_120_events_ends_with_the_last_value_and_leaves_no_queue(touched):
    page, (x, y) = touched.page, touched.centre(touched.grip("tolerance, ± %"))
    page.mouse.move(x, y)
    page.mouse.down()
    for down in (30, -20, 25):
        page.mouse.move(x, y + down, steps=40)
    page.mouse.up()
    touched.rest()
    sent = page.evaluate("window.sent.filter((message) => message.do === 'set').map((message) => message.value)")
    assert touched.panel.stand.values["tolerance_pct"] == sent[-1]
    assert touched.grip("tolerance, ± %").get_attribute("aria-valuetext") == f"{sent[-1]:g}"
    assert len(sent) <= 120
    touched.page.get_by_role("button", name="Undo").click()
    touched.page.get_by_text("as in the record: pass").first.wait_for()
    assert not touched.panel.exploration.can_undo


def test_a_plain_click_uses_no_reading_that_the_file_leaves_out(browser, results):
    touched = Touched(browser(), TouchPanel(ResultSubject(results["left out"])))
    for act in (touched.click, lambda row: touched.tick(row).click()):
        act(8)
        touched.page.get_by_text("The file leaves out row 8").wait_for()
        assert touched.page.evaluate("window.sent.length") == 0
        touched.page.get_by_role("button", name="It stays left out").click()
    assert touched.tick(8).is_checked()
    touched.click(8)
    touched.page.get_by_label("why row 8 is used all the same").fill("it had settled")
    touched.page.keyboard.press("Enter")
    touched.page.get_by_text("which the file leaves out").first.wait_for()
    assert not touched.tick(8).is_checked()


def test_a_finger_leaves_out_a_reading_and_drags_a_limit(browser, results):
    page = browser(has_touch=True, viewport={"width": 768, "height": 1024})
    touched = Touched(page, TouchPanel(ResultSubject(results["linearity"])))
    page.touchscreen.tap(*touched.centre(touched.mark(5)))
    touched.tick(5).and_(page.locator(":checked")).wait_for()
    hand = page.context.new_cdp_session(page)
    x, y = touched.centre(touched.grip("tolerance, ± %"))
    for kind, down in (("touchStart", 0), ("touchMove", 20), ("touchMove", 45), ("touchEnd", None)):
        points = [] if down is None else [{"x": x, "y": y + down}]
        hand.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    page.wait_for_function("document.querySelector('.grip[tabindex]').getAttribute('aria-valuenow') < 5")
    touched.rest()
    assert touched.panel.stand.values["tolerance_pct"] < 5.0
    assert touched.errors == []
    page.close()


@pytest.mark.parametrize("touched", ["linearity", "band-response"], indirect=True)
def test_of_a_thousand_targets_each_picks_the_reading_whose_mark_is_nearest(touched):
    """Half of the targets lie between the two marks that are closest to each other; a plain search says who is near."""
    page, random = touched.page, Random(24)
    marks = page.evaluate("""() => [...document.querySelectorAll('.reading')].map((mark) => {
        const {e, f} = mark.transform.baseVal.consolidate().matrix;
        return [Number(mark.dataset.row), e, f]; })""")
    near = min(((a, b) for a in marks for b in marks if a[0] < b[0]), key=lambda p: math.dist(p[0][1:], p[1][1:]))
    targets = []
    while len(targets) < 1000:
        a, b = near if len(targets) % 2 else random.sample(marks, 2)
        share = random.random() if len(targets) % 2 else 0.0
        x, y = (p + share * (q - p) + random.uniform(-3, 3) for p, q in zip(a[1:], b[1:], strict=True))
        ranked = sorted((math.dist((x, y), mark[1:]), mark[0]) for mark in marks)
        other = next(d for d, row in ranked if row != ranked[0][1])
        if other - ranked[0][0] > 0.02:  # a tie has no nearest
            targets.append([x, y, ranked[0][1]])
    picked = page.evaluate(
        """(targets) => { const svg = document.querySelector('.figure'), around = svg.getBoundingClientRect();
        return targets.map(([x, y]) => {
            svg.dispatchEvent(new PointerEvent('pointermove', {clientX: around.left + x, clientY: around.top + y,
                pointerType: 'mouse', bubbles: true}));
            return Number(document.querySelector('tr.pointed').dataset.row); }); }""",
        targets,
    )
    assert picked == [row for _, _, row in targets]


def test_zoom_other_scales_and_units_change_the_look_alone(touched):
    page = touched.page
    whole = page.locator(".frame text").all_text_contents()
    box = page.locator(".figure").bounding_box()
    page.mouse.move(box["x"] + 200, box["y"] + 90)
    page.mouse.down()
    page.mouse.move(box["x"] + 500, box["y"] + 180, steps=3)
    page.mouse.up()
    assert page.locator(".frame text").all_text_contents() != whole
    page.get_by_role("button", name="Whole").click()
    assert sorted(page.locator(".frame text").all_text_contents()) == sorted(whole)
    for name in ("Closer", "Wider", "Logarithmic x", "In dB"):
        page.get_by_role("button", name=name).click()
        assert page.locator(".frame text").all_text_contents() != whole
    assert "deviation, dB" in page.locator(".frame text").all_text_contents()
    page.get_by_label("unit of levels in the figure").select_option("mm/s rms")
    assert "level, mm/s rms" in page.locator(".frame text").all_text_contents()
    assert page.evaluate("window.sent.length") == 0
    assert touched.errors == []


@pytest.mark.parametrize("kind", ["SVG", "PNG"])
def test_a_saved_figure_says_in_words_and_in_its_name_that_it_is_no_record(touched, kind):
    touched.click(8)
    touched.rest()
    with touched.page.expect_download() as waiting:
        touched.page.get_by_role("button", name=f"Save {kind}").click()
    assert waiting.value.suggested_filename == (
        f"STG-1-V11.2026-05-19.linearity.as-found.what-if-not-the-record.{kind.lower()}"
    )
    data = waiting.value.path().read_bytes()
    if kind == "PNG":
        assert Image.open(BytesIO(data)).size[0] > 1000
        return
    texts = ["".join(item.itertext()) for item in ET.fromstring(data).iter("{http://www.w3.org/2000/svg}text")]
    assert "what if, not the record: pass | record: pass" in texts
    assert f"row 8 left out: {EXPLORATION}" in texts
    assert b"var(" not in data


def test_the_table_sorts_by_deviation_and_its_order_rests_while_readings_are_left_out(touched):
    rows = "[...document.querySelectorAll('tbody tr[data-row]')].map((row) => Number(row.dataset.row))"
    order = touched.page.evaluate(rows)
    values = {item["row"]: abs(item["sort"][4]) for item in touched.panel.seen()["readings"]}
    assert [values[row] for row in order] == sorted(values.values(), reverse=True)
    touched.tick(order[3]).click()
    touched.rest()
    assert touched.page.evaluate(rows) == order
    touched.page.get_by_role("button", name="row", exact=True).click()
    assert touched.page.evaluate(rows) == sorted(values, reverse=True)


def test_the_record_stands_behind_where_asked_for(touched):
    touched.page.get_by_role("button", name="Record behind").click()
    assert touched.page.locator(".behind > *").count() > 20
    touched.page.get_by_role("button", name="Record behind").click()
    assert touched.page.locator(".behind > *").count() == 0


def test_a_finding_is_kept_with_the_picture_and_opened_again(browser, results, tmp_path):
    touched = Touched(browser(), TouchPanel(ResultSubject(results["linearity"]), visit=tmp_path))
    page = touched.page
    page.get_by_label("why the next reading is left out").fill("cable moved")
    touched.click(8)
    touched.rest()
    page.locator(".finding summary").click()
    page.get_by_role("button", name="Keep this finding").click()
    page.get_by_text("write down what you found first").wait_for()
    page.get_by_label("what you found").fill("the cable moved at the top")
    page.get_by_label("who found it").fill("A. Fitter")
    page.get_by_role("button", name="Keep this finding").click()
    page.locator(".kept").get_by_text("This is a finding and not a verdict").wait_for()
    (picture,) = (tmp_path / "findings").glob("*.svg")
    texts = ["".join(item.itertext()) for item in ET.parse(picture).iter("{http://www.w3.org/2000/svg}text")]
    assert {"what if, not the record: pass | record: pass", "row 8 left out: cable moved"} <= set(texts)
    page.get_by_role("button", name="Back to the record").click()
    page.get_by_text("as in the record: pass").first.wait_for()
    page.get_by_role("button", name="Open finding 1").click()
    touched.tick(8).and_(page.locator(":checked")).wait_for()
    assert touched.errors == []
    page.close()


@pytest.mark.parametrize("look", ["light", "dark"])
@pytest.mark.parametrize("test", ["linearity", "gap-curve"])
def test_axe_core_finds_nothing_serious(browser, results, tmp_path, test, look):
    touched = Touched(browser(color_scheme=look), TouchPanel(ResultSubject(results[test]), visit=tmp_path))
    touched.page.locator(".finding summary").click()
    assert serious_violations(touched.page, ".vibcal-touch") == []
    touched.mark(results[test].case.readings[3].row).focus()
    touched.page.keyboard.press("Space")
    touched.rest()
    assert serious_violations(touched.page, ".vibcal-touch") == []
    touched.page.close()


@pytest.mark.parametrize("wide", [1440, 1024, 768, 500])
def test_nothing_is_cut_off_where_the_screen_is_narrow(browser, results, wide):
    touched = Touched(browser(viewport={"width": wide, "height": 900}), TouchPanel(ResultSubject(results["gap-curve"])))
    beyond = """() => { const panel = document.querySelector('.vibcal-touch').getBoundingClientRect();
      return [...document.querySelectorAll('.vibcal-touch .figure text, .vibcal-touch button, .vibcal-touch select')]
        .filter((item) => !item.closest('.scrolls') && item.getBoundingClientRect().right > panel.right + 1)
        .map((item) => item.textContent); }"""
    assert touched.page.evaluate(beyond) == []
    assert touched.page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    touched.page.close()
