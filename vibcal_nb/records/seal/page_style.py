"""The style sheet of a record's page, for the screen and for paper."""

from __future__ import annotations

# IDENTITY is replaced by the record's name and seal, which stand at the foot of every printed page.
PAGE_STYLE = """
:root { color-scheme: light; }
body { font: 15px/1.5 "Segoe UI", Helvetica, Arial, sans-serif; color: #222; background: #fff; margin: 0 auto;
  max-width: 62rem; padding: 1.5rem; overflow-wrap: break-word; }
h1 { font-size: 1.6rem; margin: 1.2rem 0 0.4rem; } h2 { font-size: 1.15rem; margin: 1.6rem 0 0.3rem; }
header { border-bottom: 2px solid #222; } header .identity { font-weight: bold; margin: 0; }
header .verdict { font-size: 1.6rem; font-weight: bold; margin: 0.2rem 0; }
footer { border-top: 2px solid #222; margin-top: 2rem; font-size: 0.85rem; }
table { border-collapse: collapse; margin: 0.6rem 0; font-variant-numeric: tabular-nums; font-size: 0.87rem; }
caption { padding: 0.3rem 0; }
th, td { padding: 0.15rem 0.6rem; border-bottom: 1px solid #ddd; vertical-align: top; }
td[style*="right"] { white-space: nowrap; }
thead th { border-bottom: 1px solid #888; }
table.seal th { text-align: left; white-space: nowrap; } table.seal td { overflow-wrap: anywhere; }
blockquote { border-left: 4px solid #E69F00; margin: 0.8rem 0; padding: 0.1rem 1rem; background: #faf6ec; }
img { max-width: 100%; height: auto; }
pre { white-space: pre-wrap; background: #f6f6f6; padding: 0.5rem; font-size: 0.8rem; overflow-wrap: anywhere; }
details { margin: 0.2rem 0; } summary { color: #666; font-size: 0.8rem; cursor: pointer; }
code { overflow-wrap: anywhere; }
@page { margin: 16mm 14mm 18mm;
  @bottom-left { content: "IDENTITY"; font: 7.5pt sans-serif; color: #444; }
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 7.5pt sans-serif; color: #444; } }
@media print {
  body { font-size: 9.5pt; max-width: none; padding: 0; }
  details:not([open]) { display: none; }
  table { font-size: 7.6pt; } th, td { padding: 0.8pt 4pt; }
  thead { display: table-header-group; } tr, img, blockquote, figure { break-inside: avoid; }
  h1, h2, h3, caption, section { break-after: avoid; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""
