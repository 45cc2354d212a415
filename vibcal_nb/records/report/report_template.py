"""The layout of a channel's sheet, in typst's language; what it shows is data and never read as markup."""

from __future__ import annotations

SHEET_TEMPLATE = r"""
#let d = json(bytes(sys.inputs.data))
#set document(title: d.title, author: d.author, keywords: d.keywords)
#set page(
  paper: "a4",
  margin: (x: 17mm, top: 15mm, bottom: 19mm),
  footer: context [
    #set text(7.5pt, fill: luma(70))
    #line(length: 100%, stroke: 0.4pt + luma(140))
    #v(-4pt)
    #d.identity #h(1fr) page #counter(page).display() of #counter(page).final().first()
  ],
)
#set text(font: ("Libertinus Serif", "DejaVu Sans"), size: 9.5pt, lang: "en", number-width: "tabular")
#set par(leading: 0.5em, spacing: 0.7em)
#show heading.where(level: 1): it => block(below: 0.6em, text(17pt, it.body))
#show heading.where(level: 2): it => block(above: 1.1em, below: 0.55em, sticky: true, text(12.5pt, it.body))
#show heading.where(level: 3): it => block(above: 0.9em, below: 0.45em, sticky: true, text(10pt, it.body))
#show regex("[0-9.]+ (%|dB|Hz)"): it => box(it)
#let rule = 0.4pt + luma(170)
#let word(v) = text(fill: rgb(v.colour), weight: "bold", v.word)

// headings may be empty: then the table is a list of pairs
#let grid-of(t, size: 8.5pt, widths: none, right: true) = {
  set text(size)
  let n = calc.max(t.headings.len(), ..t.rows.map(r => r.len()), 1)
  let side(x) = if x == 0 or not right { left } else { std.right }
  table(
    columns: if widths == none { n } else { widths },
    stroke: (x, y) => (bottom: rule),
    inset: (x: 4pt, y: 2pt),
    align: (x, y) => side(x),
    ..if t.headings.any(h => h != "") {
      (table.header(..range(n).map(i => strong(t.headings.at(i, default: "")))),)
    },
    ..t.rows.map(r => range(n).map(i => {
      let cell = r.at(i, default: "")
      if right and i > 0 { box(cell) } else { cell }
    })).flatten(),
  )
}

= #d.title
#d.subtitle
#v(0.6em)
#grid(columns: (1fr, 1fr), gutter: 8mm,
  [== The item
   #grid-of((headings: (), rows: d.item), right: false)],
  [== The work
   #grid-of((headings: (), rows: d.work), right: false)])

== Verdicts
#set text(8.5pt)
#table(
  columns: (auto, auto, 1fr), stroke: (x, y) => (bottom: rule), inset: (x: 4pt, y: 3pt),
  align: left,
  table.header([*test*], [*verdict*], [*findings*]),
  ..d.verdicts.map(r => (r.heading, box(word(r)), r.findings.join(". ") + ".")).flatten(),
)
#d.rule
#set text(9.5pt)

#let figure(p) = image(bytes(p.figure), format: "svg", width: 100%, alt: p.alt)
#let numbers(t, size) = {
  grid-of(t, size: size, right: t.numeric)
  if t.note != "" { v(-0.3em); text(7.5pt, t.note) }
}
#for t in d.tests [
  #block(breakable: false, width: 100%)[
    == #t.heading: #t.parts.map(p => [#p.condition #word(p)]).join[, ]
    #text(8pt)[Method: #t.method.]
    #figure(t.parts.first())
  ]
  #for p in t.parts.slice(1) { block(breakable: false, figure(p)) }
  #block(breakable: false, numbers(t.table, 7.5pt))
  #for (name, items) in (("Not verified", t.gaps), ("Also seen", t.remarks)) {
    if items.len() > 0 { text(8.5pt)[*#name:* #items.join(". ").] }
  }
]

== What these records do not show
#list(..d.not_shown.map(i => i + "."))

== What is missing from a calibration report
#if d.missing.rows.len() == 0 [Nothing of what ISO/IEC 17025:2017, 7.8.2 and 7.8.4, asks for is missing.] else {
  grid-of(d.missing, right: false, size: 8pt, widths: (auto, auto, 1fr))
}
#text(8pt, d.missing.note)

#block(breakable: false)[
  == Records and signatures
  #grid-of(d.records, right: false, size: 7.5pt)
  #text(8pt)[The sums are the records' seals. `python -m vibcal_nb verify` tells whether the records, this sheet and the
    readings are those that were sealed. Electronic sign-offs lie beside the records.]
  #v(4mm)
  #grid(columns: (1fr, 1fr), gutter: 12mm,
    ..d.signatures.map(s => [
      #v(9mm)
      #line(length: 100%, stroke: 0.6pt)
      #v(-5pt)
      #text(8pt)[#s.at(0) #h(1fr) #s.at(1)]
    ]))
]

#pagebreak(weak: true)
== Annex: every number, as results.json holds it
#set text(6.2pt)
#set par(leading: 0.35em, spacing: 0.5em)
#columns(2, gutter: 6mm, for t in d.annex {
  block(above: 0.9em, below: 0.4em, sticky: true, strong(t.title))
  if t.pairs.len() > 0 { t.pairs.map(p => box[#p.at(0) = #p.at(1)]).join([; ]) }
  if t.rows.len() > 0 {
    table(
      columns: t.headings.len(), stroke: (x, y) => (bottom: 0.25pt + luma(190)), inset: (x: 2pt, y: 1.1pt),
      align: right,
      table.header(..t.headings.map(h => strong(h.replace("_", "_\n")))),
      ..t.rows.flatten().map(text => box(text)),
    )
  }
} + align(center, text(7pt)[End of the sheet.]))
"""
