"""A reading table as an XLSX workbook whose bytes depend on nothing but its cells."""

from __future__ import annotations

import zipfile
from pathlib import Path
from xml.sax.saxutils import escape

_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_DOCUMENT = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_TYPE = "application/vnd.openxmlformats-"
_FORMATS = {0: "0", 1: "0.0", 2: "0.00", 3: "0.000"}


def write_workbook(path: Path, rows: list[list[str]], *, numeric: set[str], written: str) -> None:
    """Write ``rows`` (headings first) as one sheet; ``numeric`` columns become numbers shown as typed.

    Stored without compression and with fixed dates, so that no library's version shows in the bytes.
    """
    parts = {
        "[Content_Types].xml": _content_types(),
        "_rels/.rels": _relations(
            (f"{_DOCUMENT}/officeDocument", "xl/workbook.xml"),
            (f"{_PACKAGE}/relationships/metadata/core-properties", "docProps/core.xml"),
        ),
        "docProps/core.xml": _core(written),
        "xl/workbook.xml": f'<workbook xmlns="{_MAIN}" xmlns:r="{_DOCUMENT}"><sheets>'
        '<sheet name="readings" sheetId="1" r:id="rId1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": _relations(
            (f"{_DOCUMENT}/worksheet", "worksheets/sheet1.xml"), (f"{_DOCUMENT}/styles", "styles.xml")
        ),
        "xl/styles.xml": _styles(),
        "xl/worksheets/sheet1.xml": _sheet(rows, numeric),
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as archive:
        for name, text in parts.items():
            info = zipfile.ZipInfo(name, date_time=(2025, 1, 1, 0, 0, 0))
            info.create_system = 3
            info.external_attr = 0o644 << 16
            archive.writestr(info, (_HEAD + text).encode("utf-8"))


def _relations(*targets: tuple[str, str]) -> str:
    inner = "".join(
        f'<Relationship Id="rId{i}" Type="{kind}" Target="{target}"/>' for i, (kind, target) in enumerate(targets, 1)
    )
    return f'<Relationships xmlns="{_PACKAGE}/relationships">{inner}</Relationships>'


def _content_types() -> str:
    sheet = "officedocument.spreadsheetml"
    kinds = {
        "/xl/workbook.xml": f"{_TYPE}{sheet}.sheet.main+xml",
        "/xl/worksheets/sheet1.xml": f"{_TYPE}{sheet}.worksheet+xml",
        "/xl/styles.xml": f"{_TYPE}{sheet}.styles+xml",
        "/docProps/core.xml": f"{_TYPE}package.core-properties+xml",
    }
    inner = "".join(f'<Override PartName="{part}" ContentType="{kind}"/>' for part, kind in kinds.items())
    default = f'<Default Extension="rels" ContentType="{_TYPE}package.relationships+xml"/>'
    default += '<Default Extension="xml" ContentType="application/xml"/>'
    return f'<Types xmlns="{_PACKAGE}/content-types">{default}{inner}</Types>'


def _core(written: str) -> str:
    moment = f"{written}T12:00:00Z"
    stamps = "".join(
        f'<dcterms:{name} xsi:type="dcterms:W3CDTF">{moment}</dcterms:{name}>' for name in ("created", "modified")
    )
    return (
        f'<cp:coreProperties xmlns:cp="{_PACKAGE}/metadata/core-properties" '
        'xmlns:dcterms="http://purl.org/dc/terms/" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">'
        f"{stamps}</cp:coreProperties>"
    )


def _styles() -> str:
    formats = "".join(f'<numFmt numFmtId="{170 + n}" formatCode="{code}"/>' for n, code in _FORMATS.items())
    cells = '<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>' + "".join(
        f'<xf numFmtId="{170 + n}" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>'
        for n in _FORMATS
    )
    plain = '<xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>'
    return (
        f'<styleSheet xmlns="{_MAIN}"><numFmts count="{len(_FORMATS)}">{formats}</numFmts>'
        '<fonts count="1"><font><sz val="11"/><name val="Calibri"/></font></fonts>'
        '<fills count="2"><fill><patternFill patternType="none"/></fill>'
        '<fill><patternFill patternType="gray125"/></fill></fills>'
        '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
        f'<cellStyleXfs count="1">{plain}</cellStyleXfs>'
        f'<cellXfs count="{1 + len(_FORMATS)}">{cells}</cellXfs>'
        '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
    )


def _sheet(rows: list[list[str]], numeric: set[str]) -> str:
    lines = [
        f'<row r="{r}">'
        + "".join(_cell(f"{chr(65 + c)}{r}", text, r > 1 and rows[0][c] in numeric) for c, text in enumerate(row))
        + "</row>"
        for r, row in enumerate(rows, 1)
    ]
    return f'<worksheet xmlns="{_MAIN}"><sheetData>{"".join(lines)}</sheetData></worksheet>'


def _cell(place: str, text: str, number: bool) -> str:
    if not text:
        return ""
    if number:
        return f'<c r="{place}" s="{1 + len(text.partition(".")[2])}"><v>{text}</v></c>'
    return f'<c r="{place}" t="inlineStr"><is><t>{escape(text)}</t></is></c>'
