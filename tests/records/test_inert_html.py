"""What an output's HTML may still do on a page: nothing. Held against Python's own reader of HTML (html.parser)."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser

import pytest
from bleach.html5lib_shim import HTML_TAGS
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.places import ROOT
from vibcal_nb.display.site.site_style import SITE_STYLE
from vibcal_nb.records.seal.inert_html import inert_html

HARMLESS = frozenset(
    re.findall(
        r"\w+",
        """a abbr b blockquote br caption code col colgroup dd del details div dl dt em figcaption figure h1 h2 h3 h4 h5
        h6 hr i img ins kbd li ol p pre q s samp section small span strong sub summary sup table tbody td tfoot th thead
        tr u ul""",
    )
)
"""Text, tables, pictures (WHATWG HTML, 4.3 to 4.11): they load nothing but pictures, and do nothing by themselves."""
ACTING = (HTML_TAGS - HARMLESS) | {"svg"}
"""All other elements of HTML, as an independent library lists them, and drawings, which may hold scripts."""
assert {"script", "iframe", "object", "embed", "form", "input", "button", "meta", "link", "base", "style"} < ACTING
PIECES = st.sampled_from(
    [
        *(
            "<",
            ">",
            "</",
            "/>",
            "=",
            '"',
            "'",
            " ",
            "\n",
            "\t",
            "\x00",
            "\u00a0",
            "&",
            ";",
            "a",
            "<!--",
            "-->",
            "<![CDATA[",
        ),
        *(
            "script",
            "svg",
            "math",
            "table",
            "td",
            "p",
            "img",
            "iframe",
            "style",
            "meta",
            "base",
            "a",
            "details",
            "template",
        ),
        *('onerror="x"', "onload=x", 'href="javascript:x"', "href=//x", 'src="http://x"', "src=data:text/html,x"),
        *(
            'style="position:fixed"',
            "style='background:url(http://x)'",
            'style="color:red"',
            "xlink:href=x",
            "srcdoc=x",
        ),
        *(
            "<p>",
            "</p>",
            '<td style="text-align: left">',
            "<b>",
            "</b>",
            "<img alt='a>b'",
            "<b <script>",
            "<a/onclick=x>",
        ),
    ]
)


class Tags(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.seen, self.text, self.open = [], "", 0

    def handle_starttag(self, tag, attributes):
        self.seen.append((tag, attributes))

    def handle_data(self, data):
        self.text += data

    def handle_comment(self, data):
        raise AssertionError("a comment")

    def handle_decl(self, decl):
        raise AssertionError("a declaration")

    def handle_pi(self, data):
        raise AssertionError("an instruction")


def read(html):
    reader = Tags()
    reader.feed(html)
    reader.close()
    return reader


@settings(max_examples=1500, deadline=None)
@given(st.lists(PIECES, max_size=25).map("".join))
def test_whatever_an_output_holds_only_harmless_tags_are_left(text):
    for tag, attributes in read(inert_html(text)).seen:
        assert tag not in ACTING
        for name, value in attributes:
            assert not name.startswith("on") and name not in ("srcdoc", "action", "xlink:href", "formaction"), name
            assert name not in ("href", "src") or not re.search(r"//|:(?!image/)|^/", value.split(",")[0]), value
            assert "position" not in (value or "") or name != "style"
            assert "url" not in (value or "") or name != "style"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("<meta http-equiv=refresh content='0;url=http://x'>", "&lt;meta http-equiv=refresh content='0;url=http://x'>"),
        ("<a href='http://x'>go</a>", "<a>go</a>"),
        ('<a href="../../etc/x.html">go</a>', "<a>go</a>"),
        ('<a href="STG-1/2026/V11/linearity.html">go</a>', '<a href="STG-1/2026/V11/linearity.html">go</a>'),
        ("</section></main><p>x", "&lt;/section>&lt;/main><p>x</p>"),
        ("<b><p>x</b>", "<b><p>x</p></b>"),
        ('<p style="color: red; position: fixed; top: 0">x</p>', '<p style="color: red">x</p>'),
        ("1 < 2 and 3 > 2", "1 &lt; 2 and 3 > 2"),
    ],
)
def test_what_would_act_is_shown_as_text_or_left_out(text, shown):
    assert inert_html(text) == shown


def test_the_style_sheet_of_a_site_is_kept_as_it_is():
    assert inert_html(f"<style>{SITE_STYLE}</style>") == f"<style>{SITE_STYLE}</style>"


@pytest.mark.parametrize(
    ("sheet", "kept"),
    [
        (".site td{color:red}", ".site td{color:red}"),
        (
            ".site.old .cell:hover,table.site th{color:red;position:fixed}",
            ".site.old .cell:hover,table.site th{color:red}",
        ),
        ("main{color:red}", ""),
        ("main,.site td{color:red}", ""),
        ("main .site td{color:red}", ""),
        (".website td{color:red}", ""),
        (".site-b td{color:red}", ""),
        (".site ~ main{color:red}", ""),
        (".site:has(td),.site *{color:red}", ""),
        (".site td{display:none;opacity:0;content:'pass'}", ""),
        (".site td{background:url(http://x)}.site th{color:red}", ".site th{color:red}"),
        (".site th{color:red}/* x */", ""),
        ("@import 'http://x';.site th{color:red}", ""),
        ("@media screen{.site th{color:red}}", ""),
        (".site th{color:red}<b>x", ""),
        (".site th{color:\\72ed}", ""),
    ],
)
@pytest.mark.parametrize("opening", ["<style>", '<STYLE type="text/css">', "<style\n>"])
def test_of_another_style_sheet_only_what_concerns_a_sites_tables_is_left_and_nothing_as_text(opening, sheet, kept):
    shown = inert_html(f"<p>a{opening}{sheet}</style>b</p>")
    assert shown == (f"<p>a<style>{kept}</style>b</p>" if kept else "<p>ab</p>")


def test_a_style_sheet_that_never_ends_hides_nothing():
    assert inert_html("<style>" * 3 + "x") == "&lt;style>" * 3 + "x"


def test_the_standard_notebooks_show_the_same_on_a_page():
    """Every tag and every word of their stored outputs is there as it was."""
    outputs = [
        "".join(output["data"]["text/html"])
        for path in (ROOT / "notebooks").glob("*.ipynb")
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]
        for output in cell.get("outputs", [])
        if "text/html" in output.get("data", {}) and "<style>" not in str(output["data"]["text/html"])
    ]
    assert len(outputs) > 40
    for html in outputs:
        before, after = read(html), read(inert_html(html))
        assert before.text == after.text
        assert [tag for tag, _ in before.seen] == [tag for tag, _ in after.seen]
        assert [len(a) for _, a in before.seen] == [len(a) for _, a in after.seen]
