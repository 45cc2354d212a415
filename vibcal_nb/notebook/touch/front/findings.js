// Findings: words for where the panel stands, kept with it, and the way back to those that were kept.

class Findings {
  /** `acts`: keep({text, by}), open(number). */
  constructor(keeps, acts) {
    this.acts = acts;
    this.text = make("textarea", { rows: 3, "aria-label": "what you found", placeholder: "what you found, and why" });
    this.by = make("input", { type: "text", maxlength: 200, "aria-label": "who found it", placeholder: "your name" });
    for (const field of [this.text, this.by])
      for (const name of ["keydown", "keyup"]) field.addEventListener(name, (event) => event.stopPropagation());
    const keep = button("Keep this finding", () => acts.keep({ text: this.text.value, by: this.by.value }));
    this.said = make("p", { class: "kept", role: "status" });
    this.list = make("ul", { class: "findings" });
    this.element = make("details", { class: "finding", hidden: !keeps },
      make("summary", {}, "Findings"), this.text, this.by, keep, this.said, this.list);
  }

  draw(seen) {
    if (seen.kept && seen.kept !== this.said.textContent) this.text.value = "";
    this.said.textContent = seen.kept;
    const told = JSON.stringify(seen.findings);
    if (told === this.told) return;
    this.told = told;
    this.element.querySelector("summary").textContent = seen.findings.length
      ? `Findings (${seen.findings.length} kept)` : "Findings";
    this.list.replaceChildren(...seen.findings.map((item) => make("li", {},
      button(`Open finding ${item.number}`, () => this.acts.open(item.number)),
      ` ${item.text} `, make("small", {}, `${item.by}, ${item.written.slice(0, 10)}; ${item.headline}`
        + (item.differences.length ? `; ${item.differences.join("; ")}` : "")))));
  }
}
