"""The layout of a channel's sheet, in typst's language; what it shows is data and never read as markup.

Page 1: the answer, what was judged, the set points, return to service, signatures. Then the figures, then what is not
shown and what all rests on.
"""

from __future__ import annotations

from vibcal_nb.display.style import GREY, INK

SHEET_TEMPLATE = r"""
#let d = json(bytes(sys.inputs.data))
#set document(title: d.title, author: d.author, keywords: d.keywords)
#set page(
  paper: "a4",
  margin: (x: 16mm, top: 14mm, bottom: 18mm),
  footer: context [
    #set text(7pt, fill: rgb("GREY"))
    #line(length: 100%, stroke: 0.4pt + luma(140))
    #v(-4pt)
    #d.identity #h(1fr) page #counter(page).display() of #counter(page).final().first()
  ],
)
#set text(font: "DejaVu Sans", size: 8pt, lang: "en", fill: rgb("INK"))
#set par(leading: 0.55em, spacing: 0.75em)
#show heading.where(level: 1): it => block(below: 0.5em, text(15pt, it.body))
#show heading.where(level: 2): it => block(above: 1.4em, below: 0.6em, sticky: true, text(10.5pt, it.body))
#show regex("[0-9.]+ (%|dB|Hz)"): it => box(it)
#let rule = 0.4pt + luma(190)
#let thick = 0.6pt + luma(110)

// a pass is filled, a fail hollow: they differ in grey print
#let chip(c, size: 7.5pt) = box(
  fill: if c.filled { rgb(c.colour) } else { none }, stroke: 0.7pt + rgb(c.colour), radius: 2pt,
  inset: (x: 3pt), outset: (y: 2.2pt),
  text(size, weight: "bold", fill: if c.filled { white } else { rgb(c.colour) }, c.word),
)
#let pairs(rows) = table(
  columns: (auto, 1fr), stroke: (x, y) => (bottom: rule), inset: (x: 3pt, y: 2pt), align: left,
  ..rows.map(r => (r.at(0), r.at(1))).flatten(),
)

= #d.title
#d.subtitle
#v(0.4em)
#block(width: 100%, stroke: 1.2pt + rgb("GREY"), radius: 5pt, inset: 8pt)[
  #grid(columns: (auto, auto, 1fr), column-gutter: 7pt, row-gutter: 8pt, align: left + horizon,
    ..d.answer.lines.map(l => (text(9pt, l.of), chip(l.chip, size: 9.5pt), text(9pt, weight: "bold", l.sentence)))
      .flatten())
  #if d.answer.steps.len() > 0 [
    #v(0.2em)
    *What to do*
    #list(..d.answer.steps.map(s => s + "."))
  ]
  #text(7pt, d.rule)
]

== What was judged
#let n = d.conditions.len()
#table(
  columns: (1fr, auto, ..range(n).map(i => (auto, auto)).flatten()),
  stroke: (x, y) => (bottom: rule), inset: (x: 4pt, y: 3.2pt),
  align: (x, y) => if x == 0 { left } else if x == 1 or calc.even(x) { right } else { left },
  table.header([*quantity*], [*limit*], ..d.conditions.map(c => (strong(c.at(1) + ", ± U"), [])).flatten()),
  ..d.matrix.map(t => (
    table.cell(colspan: 2 + 2 * n, stroke: (bottom: thick), inset: (top: 5pt), strong(t.test)),
    ..t.rows.map(r => (
      r.name, box(r.limit),
      ..d.conditions.map(c => {
        let v = r.at(c.at(0))
        if v == none { ([–], []) } else { (v.value, chip(v.chip)) }
      }).flatten(),
    )).flatten(),
  )).flatten(),
)

#if d.set_points.rows.len() > 0 [
  == Set points: where each comes in true vibration, #d.set_points.unit
  #table(
    columns: (1fr, auto, ..range(n).map(i => (auto, auto)).flatten()),
    stroke: (x, y) => (bottom: rule), inset: (x: 4pt, y: 3.2pt),
    align: (x, y) => if x == 0 { left } else if x == 1 or calc.even(x) { right } else { left },
    table.header([*set point*], [*set*], ..d.conditions.map(c => (strong(c.at(1) + ", ± U"), [])).flatten()),
    ..d.set_points.rows.map(r => (
      r.name, r.set,
      ..d.conditions.map(c => {
        let v = r.at(c.at(0))
        if v == none { ([–], []) } else { (box(v.value), v.status) }
      }).flatten(),
    )).flatten(),
  )
]

#for t in d.drift {
  block(above: 1.2em, below: 1.2em)[#t.of: #h(2pt) #chip(t.chip) #h(2pt) #t.sentence.]
}

#block(breakable: false)[
  == Return to service and signatures
  #if d.service.len() > 0 { list(..d.service.map(s => s + ".")) }
  #if d.return_to_service != "" [#d.return_to_service #box(width: 1fr, line(length: 100%, stroke: 0.6pt))]
  #grid(columns: (1fr, 1fr), gutter: 12mm,
    ..d.signatures.map(s => [
      #v(8mm)
      #line(length: 100%, stroke: 0.6pt)
      #v(-4pt)
      #text(7.5pt)[#s.at(0) #h(1fr) #s.at(1)]
    ]))
]

#pagebreak(weak: true)
== Figures
#for p in d.figures {
  block(breakable: false, width: 100%, {
    if p.title != "" { strong(p.title) }
    image(bytes(p.svg), format: "svg", width: 100%, alt: p.alt)
  })
}

#pagebreak(weak: true)
== What these records do not show
#list(..d.not_shown.map(i => i + "."))
#for said in d.notes [
  *#said.at(0)*
  #list(..said.slice(1).map(i => i + "."))
]

== What is missing from a calibration report
#if d.missing.rows.len() == 0 [Nothing of what ISO/IEC 17025:2017, 7.8.2 and 7.8.4, asks for is missing.] else {
  table(
    columns: (auto, auto, 1fr), stroke: (x, y) => (bottom: rule), inset: (x: 3pt, y: 2pt), align: left,
    table.header(..d.missing.headings.map(h => strong(h))), ..d.missing.rows.flatten(),
  )
}
#text(7pt, d.missing.note)

#grid(columns: (3fr, 2fr), gutter: 6mm,
  [== The item
   #pairs(d.item)],
  [== The work
   #pairs(d.work)])

== Records, their seals and their numbers
#grid(columns: (1fr, 1fr), gutter: 6mm, row-gutter: 6pt, ..d.records.map(r => text(5.3pt)[
  *#r.record*, #r.verdict, revision #r.revision, made #r.made \
  seal #r.seal \
  numbers #r.numbers
]))
#text(7pt)[Sums are SHA-256. The seal is that of the record; the numbers are the record's `quantities`, digit for digit
  as `results.json` holds them. `python -m vibcal_nb verify` tells whether records, this sheet and the readings are
  those that were sealed. Electronic sign-offs lie beside the records. *End of the sheet.*]
""".replace("GREY", GREY).replace("INK", INK)
