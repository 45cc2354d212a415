"""A site whose every text is hostile: its records, pages, sheets and tables are made, and are inert.

The commands run in processes that are cut off from the network where the system can do that (unshare, Linux), and that
note every file written outside their folders, every pickle, every connection and every program started.
"""

from __future__ import annotations

import csv
import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import openpyxl
import pypdf
import pytest
from openpyxl.formula import Tokenizer

from tests.fuzzing.inputs import ROWS
from tests.support.places import ROOT
from tests.support.running.programs import call, everything_below
from tests.support.sites.plants import ASSET, EQUIPMENT, HEADINGS
from vibcal_nb.records.register.site_export import HEADINGS as HEADINGS_OUT

AWAY = "http://203.0.113.9/"  # RFC 5737: no host ever has this address
MARKUP = (
    f"<script>alert(1)</script><img src={AWAY}x.png onerror=alert(2)><svg onload=alert(3)></td></table></style></pre>"
    f"</details></section><base href={AWAY}><form action={AWAY}><input autofocus onfocus=alert(4)></form>"
    f"<meta http-equiv=refresh content='0;url={AWAY}'><iframe srcdoc='<script>alert(5)</script>'></iframe>"
    f"<link rel=stylesheet href={AWAY}s.css>'\"`;--> $\\frac{{1}}{{0}}$ [x](javascript:alert(6)) ![y]({AWAY}y.png) "
    '#read("/etc/passwd") \\u{0} ../../../etc/passwd ..\\..\\x C:\\x {{{{7*7}}}} %s%n 😀 \u00e9\u0301'
)
LEADS = ("=", "+", "-", "@", "\t=", "\n=", "\uff1d")
TAG, CHANNEL = "S`touch x`;$(id)&'#{{7}}", "V1$(touch x)'&#;{visit_folder}{0}{"


def hostile(number: int, longest: int = 2000) -> str:
    """A text that is a formula, markup, a path and whatever else, each a little different."""
    return f'{LEADS[number % len(LEADS)]}HYPERLINK("{AWAY}";"{number}"){MARKUP}'[:longest]


def quoted(value: object) -> str:
    """A TOML string, or a list of them: written as JSON writes them."""
    return json.dumps(value, ensure_ascii=False)


def text(number: int, longest: int = 2000) -> str:
    return quoted(hostile(number, longest))


def make_site(folder: Path) -> Path:
    rotor, reference, readout = hostile(1, 64), hostile(2, 64), hostile(3, 64)
    asset = ASSET.replace('"STG-1"', quoted(TAG)).replace('"turbine"\n', text(4) + "\n")
    asset = asset.replace("channels.STG-1-V11", f"channels.{quoted(CHANNEL)}")
    asset = asset.replace("turbine = {", f"{quoted(rotor)} = {{").replace('["turbine"]', quoted([rotor]))
    asset = asset.replace("rotors = [", f"moving_mass_kg = 0.3\nlocation = {text(5)}\nrotors = [")
    equipment = EQUIPMENT.replace('"REF-1"', quoted(reference)).replace('"DVM-1"', quoted(readout))
    equipment = equipment.replace('"reference accelerometer"', text(6)).replace('"voltmeter"', text(7))
    equipment = equipment.replace('"R1"', text(8)).replace('"D1"', f"{text(9)}\ncertificate = {text(10)}")
    equipment += f"[[shaker]]\nid = {text(30, 64)}\nforce_n = 45\narmature_kg = 0.2\nfrom_hz = 7\nto_hz = 10000\n"
    visit = f"""date = 2026-05-19
performed_by = {text(11)}
reviewed_by = {text(12)}
laboratory = {text(13)}
customer = {text(14)}
notes = {text(15)}
equipment = {quoted([reference, readout])}
[columns]
{text(16, 100)} = "frequency_hz"
[contributions.{text(17, 64)}]
value_pct = 0.1
distribution = "normal"
kind = "independent"
source = {text(18)}
"""
    home = folder / TAG / "2026-05-19"
    home.mkdir(parents=True)
    (folder / "equipment.toml").write_text(equipment, encoding="utf-8")
    (folder / TAG / "asset.toml").write_text(asset, encoding="utf-8")
    (home / "visit.toml").write_text(visit, encoding="utf-8")
    rows = [[CHANNEL, *row.split(",")[1:-1], hostile(20 + number)] for number, row in enumerate(ROWS)]
    rows[1][-2] = hostile(19)
    headings = HEADINGS.replace("frequency_hz", "\0").split(",")
    headings[headings.index("\0")] = hostile(16, 100)
    with (home / "readings.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([headings, *rows])
    earlier = home.with_name("2025-05-20")
    shutil.copytree(home, earlier)
    (earlier / "visit.toml").write_text(visit.replace("2026-05-19", "2025-05-20"), encoding="utf-8")
    return home


def cut_off() -> list[str]:
    """The words that start a program without any network, not even loopback; none where the system cannot."""
    unshare = shutil.which("unshare")
    if unshare is None or subprocess.run([unshare, "-rn", "true"], capture_output=True, check=False).returncode:
        return []
    return [unshare, "-rn"]


class Place:
    """Folders of one test: the site, what is beside it, the output, and where libraries keep things of their own."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.out, self.own = folder, folder / "out", folder / "own"
        self.log = folder / "deeds.log"
        self.visit = make_site(folder / "site")
        (folder / "x").write_text("beside the site", encoding="utf-8")
        self.log.touch()
        self.out.mkdir()
        self.own.mkdir()

    def outside(self) -> dict[Path, bytes | None]:
        return {
            name: data
            for name, data in everything_below(self.folder).items()
            if name.parts[0] not in ("out", "own", "deeds.log")
        }

    def call(self, *arguments: object) -> subprocess.CompletedProcess[str]:
        """Run a command; fail where it says more than sentences or does what it may not."""
        homes = ("HOME", "TMPDIR", "MPLCONFIGDIR", "IPYTHONDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR")
        environment = dict.fromkeys((*homes, "JUPYTER_RUNTIME_DIR"), str(self.own))
        return call(
            *arguments,
            cwd=self.folder,
            env=environment_of_a_watched_child(self.log, self.out, self.own) | environment,
            within=cut_off(),
        )


def environment_of_a_watched_child(log: Path, *may: Path) -> dict[str, str]:
    return {
        **os.environ,
        "PYTHONPATH": os.pathsep.join([str(ROOT / "tests" / "fuzzing" / "child"), str(ROOT)]),
        "WATCH_LOG": str(log),
        "WATCH_MAY": os.pathsep.join(map(str, may)),
    }


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The place after all commands, with what each said."""
    place = Place(tmp_path_factory.mktemp("hostile"))
    before = place.outside()
    records = place.out / "records"
    done = {
        "run": place.call("run", "site", "--latest", "--out", records, "--workers", 1),
        "verify": place.call("verify", records, "--inputs", "site"),
        "overview": place.call("overview", records, "--csv", place.out / "site.csv", "--xlsx", place.out / "site.xlsx"),
        "sheet": place.call("sheet", "site", "--out", place.out / "sheets"),
        "sheet, CSV": place.call("sheet", "site", "--out", place.out / "sheets-csv", "--format", "csv"),
    }
    return place, done, before


def test_every_command_does_its_work(made):
    place, done, _ = made
    assert {name: (run.returncode, run.stderr) for name, run in done.items()} == {
        "run": (0, ""), "verify": (0, ""), "overview": (0, ""), "sheet": (0, ""), "sheet, CSV": (0, ""),
    }  # fmt: skip
    if cut_off():
        unreachable = [*cut_off(), sys.executable, "-c", "import socket; socket.create_connection(('127.0.0.1', 9))"]
        assert b"Network is unreachable" in subprocess.run(unreachable, capture_output=True, check=False).stderr
    (results,) = place.out.rglob("results.json")
    entries = json.loads(results.read_bytes())["results"]
    assert {entry["analysis"] for entry in entries} == {
        "linearity", "band-response", "sensor-alone", "drift", "channel-verdict",
    }  # fmt: skip


def test_nothing_outside_the_output_folder_changes_and_nothing_forbidden_is_done(made):
    place, _, before = made
    assert place.log.read_text(encoding="utf-8") == ""
    assert place.outside() == before


def test_the_watch_sees_what_it_should(made):
    """A child that does what nothing may is noted: a silent log means that nothing did."""
    place, _, _ = made
    log = place.folder / "own" / "other.log"
    log.touch()
    code = f"open({str(place.folder / 'x')!r}, 'a'); import pickle, socket; pickle.loads(pickle.dumps(print))"
    environment = environment_of_a_watched_child(log, place.out)
    subprocess.run([sys.executable, "-c", code], env=environment, check=True)
    deeds = log.read_text(encoding="utf-8").splitlines()
    assert len(deeds) == 2 and "opened" in deeds[0] and "pickle.find_class" in deeds[1]


OWN_FUNCTIONS = {"IF", "IFERROR", "AND", "ISNUMBER", "INDEX", "MATCH", "VLOOKUP", "ABS", "MAX", "PI", "OR", "COUNTIFS"}
OWN_TEXTS = {"OUTSIDE", "no limits", "read again", "applied?", "acted?", "", "<=", ">=", "<>"}
OWN_RANGE = re.compile(r"((limits|units|work|readings)!)?\$?[A-Z]\$?\d*(:\$?[A-Z]\$?\d*)?")


def foreign_parts(formula: str) -> list[str]:
    """What a formula has besides numbers, own words, own functions, and cells of the workbook's own sheets."""
    parts = [(item.type, item.subtype, item.value) for item in Tokenizer(formula).items]
    calls = [value for kind, subtype, value in parts if (kind, subtype) == ("FUNC", "OPEN")]
    ranges = [value for kind, subtype, value in parts if (kind, subtype) == ("OPERAND", "RANGE")]
    texts = [value for kind, subtype, value in parts if (kind, subtype) == ("OPERAND", "TEXT")]
    return [
        *(value for value in calls if value.removesuffix("(") not in OWN_FUNCTIONS),
        *(value for value in ranges if not OWN_RANGE.fullmatch(value)),
        *(value for value in texts if value[1:-1] not in OWN_TEXTS),
    ]


@pytest.mark.parametrize(
    ("formula", "foreign"),
    [
        ('=IF(ISNUMBER(work!C7),INDEX(limits!$D:$D,work!A7)*2.5,"")', []),
        ('=HYPERLINK("x")', ["HYPERLINK(", '"x"']),
        ("=[other.xlsx]limits!A1", ["[other.xlsx]limits!A1"]),
        ("=IF(secrets!A1,1,2)", ["secrets!A1"]),
        ("=calc|A0", ["calc|A0"]),
    ],
)
def test_foreign_parts_of_a_formula_are_seen(formula, foreign):
    assert foreign_parts(formula) == foreign


def test_no_cell_of_a_workbook_is_a_formula_or_leads_away(made):
    """But for the limits that a sheet computes from what is typed into it."""
    place, _, _ = made
    books = {path.name: path for path in place.out.rglob("*.xlsx")}
    assert set(books) == {"site.xlsx", "readings.xlsx"}
    cells = {name: cells_of(path) for name, path in books.items()}
    assert [cell.value for cell in cells["site.xlsx"] if cell.data_type == "f"] == []
    formulas = [cell.value for cell in cells["readings.xlsx"] if cell.data_type == "f"]
    assert formulas and {what for formula in formulas for what in foreign_parts(formula)} == set()
    for path in books.values():
        led = [cell.hyperlink.target for cell in cells[path.name] if cell.hyperlink]
        pages = [(path.parent / unquote(target)).resolve() for target in led]
        assert all(page.is_file() and page.is_relative_to(place.out.resolve()) for page in pages), led
        assert not re.search(rb"externalLink|vbaProject|activeX|oleObject", b"".join(names_of(path)))
    shown = [str(cell.value) for name in cells for cell in cells[name] if "alert(1)" in str(cell.value)]
    assert len(shown) > 2 and [text for text in shown if text.startswith(LEADS)] == []


def cells_of(path: Path) -> list:
    return [cell for sheet in openpyxl.load_workbook(path).worksheets for row in sheet.iter_rows() for cell in row]


def names_of(path: Path) -> list[bytes]:
    with zipfile.ZipFile(path) as archive:
        return [name.encode() for name in archive.namelist()]


def test_no_cell_of_a_csv_begins_as_a_formula_does(made):
    """OWASP, CSV Injection (from memory): =, +, -, @, tab, carriage return, and their full-width twins."""
    place, _, _ = made
    rows = {}
    for path in place.out.rglob("*.csv"):
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows[path.name] = list(csv.reader(file))
    assert set(rows) == {"site.csv", "readings.csv"}
    assert [len(row) for row in rows["site.csv"]] == [len(HEADINGS_OUT)] * 2
    numbers = re.compile(r"-?\d+(\.\d+)?")
    begins = tuple("=+-@\t\r\n\uff1d")
    assert [
        cell
        for table in rows.values()
        for row in table
        for cell in row
        if cell.startswith(begins) and not numbers.fullmatch(cell)
    ] == []
    assert any(hostile(5)[:40] in cell for cell in rows["site.csv"][1])


HARMLESS = """
    html head meta title style body header main footer section details summary h1 h2 h3 h4 p pre code blockquote
    nav s div span b i em strong small ul ol li a table thead tbody tr th td caption img br hr del sup
"""
ADDRESSES = "href src action background srcset data formaction poster xlink:href"
BESIDE = re.compile(r"(\.\./\.\./\.\./)?[\w%][\w%.-]*(/[\w%][\w%.-]*)*\.(html|pdf|ipynb)")
"""A link to a file of the records folder: in the page's own folder or below, or the overview three above."""
ACTIVE = "/JS /JavaScript /Launch /URI /SubmitForm /GoToR /EmbeddedFile /AA /OpenAction /XFA"


class Live(HTMLParser):
    """Collects what of a page could do something: scripts, handlers, addresses, and elements that load or send."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in HARMLESS.split():
            self.found.append(f"<{tag}>")
        for name, value in attrs:
            address = name in ADDRESSES.split()
            safe = (value or "").startswith("data:image/" if tag == "img" else "#")
            safe = safe or (tag == "a" and name == "href" and BESIDE.fullmatch(value or "") is not None)
            refresh = name == "http-equiv" and value != "Content-Security-Policy"
            if name.startswith("on") or (address and not safe) or refresh or name == "srcdoc":
                self.found.append(f"<{tag} {name}={value}>")
            elif name == "style" and re.search(r"url\(|expression|@import", value or ""):
                self.found.append(f"<{tag} style={value}>")


def live_parts(html: str) -> list[str]:
    parser = Live()
    parser.feed(html)
    parser.close()
    return parser.found


def test_the_look_for_live_parts_finds_them():
    found = {part[:8] for part in live_parts(MARKUP)}
    assert found >= {"<script>", "<img src", "<img one", "<svg>", "<base>", "<form>"}
    assert live_parts(f"<p><a href={AWAY}>x</a>")
    assert live_parts("<a href='javascript:x'>")
    assert live_parts("<a href='//a.example/x.html'>")
    assert live_parts("<a href='../../../../x.html'>")
    assert not live_parts("<p>x</p>")


def test_pages_and_outputs_hold_no_live_markup(made):
    place, _, _ = made
    pages = sorted(place.out.rglob("*.html"))
    assert len(pages) == 6  # five records and the overview
    assert sum("alert(1)" in page.read_text(encoding="utf-8") for page in pages) >= 5  # it is there, and is text
    for page in pages:
        html = page.read_text(encoding="utf-8")
        assert live_parts(html) == [], page.name
        assert "form-action 'none'; base-uri 'none'" in html
        notebook = json.loads(page.with_suffix(".ipynb").read_bytes())
        for cell in notebook["cells"]:
            for output in cell.get("outputs", ()):
                data = output.get("data", {})
                assert live_parts("".join(data.get("text/html", ""))) == [], page.name
                assert not set(data) & {"application/javascript", "text/markdown", "image/svg+xml", "text/latex"}


def test_a_sheet_runs_opens_and_fetches_nothing(made):
    """PDF 32000-1:2008, 12.6.4: actions; 7.11.4: embedded files; 12.7.8: forms (from memory)."""
    place, _, _ = made
    (path,) = place.out.rglob("*.pdf")
    reader = pypdf.PdfReader(path)
    seen = [
        key
        for number in range(1, len(reader.xref_objStm) + len(reader.xref.get(0, {})) + 1)
        for key in keys_of(reader, number)
    ]
    assert len(seen) > 100
    assert set(ACTIVE.split()) & set(seen) == set()
    text = "".join(page.extract_text() for page in reader.pages)
    assert "<script>alert(1)</script>" in re.sub(r"\s", "", text)
    assert "root:" not in text


def keys_of(reader: pypdf.PdfReader, number: int) -> list[str]:
    """Keys and names of an object of a PDF, to any depth but not through references."""
    found: list[str] = []

    def walk(value: object) -> None:
        if isinstance(value, dict):
            found.extend(map(str, value))
            for item in value.values():
                walk(item)
        elif isinstance(value, list):
            for item in value:
                walk(item)
        elif isinstance(value, pypdf.generic.NameObject):
            found.append(str(value))

    walk(reader.get_object(pypdf.generic.IndirectObject(number, 0, reader)))
    return found


@pytest.mark.browser
def test_pages_opened_in_a_browser_run_fetch_and_ask_nothing(made):
    from tests.browser.lab import running_browser

    place, _, _ = made
    with running_browser() as new_page:
        for path in sorted(place.out.rglob("*.html")):
            page, asked, said = new_page(), [], []
            page.on("request", lambda request, asked=asked: asked.append(request.url))
            page.on("dialog", lambda dialog, said=said: (said.append(dialog.message), dialog.dismiss()))
            page.on("pageerror", lambda error, said=said: said.append(str(error)))
            page.on("console", lambda message, said=said: said.append(message.text))
            page.goto(path.as_uri())
            page.wait_for_timeout(300)
            own = [url for url in asked if not url.startswith("data:")]
            assert (own, said, page.url) == ([path.as_uri()], [], path.as_uri())
            for summary in page.locator("details summary").all()[:2]:
                summary.click()
            shown = "<script>alert(1)</script>" in page.locator("body").inner_text()
            assert shown or "alert(1)" not in path.read_text(encoding="utf-8")
            page.close()
