// The table of readings: sorted by any column, a tick leaves a reading out. Its order rests until it is asked for anew.

class Readings {
  /** `acts`: point(row), toggle(row), reason(row, text). */
  constructor(host, acts) {
    this.acts = acts;
    this.sorted = { column: null, down: true };
    this.table = document.createElement("table");
    this.table.innerHTML = "<caption>Tick one to leave it out</caption><thead><tr></tr></thead><tbody></tbody>";
    host.append(this.table);
    [this.head, this.body] = [this.table.querySelector("thead tr"), this.table.querySelector("tbody")];
    this.rows = new Map();
    this.order = [];
    for (const [name, value] of [["pointerover", 1], ["focusin", 1], ["pointerleave", 0], ["focusout", 0]])
      this.table.addEventListener(name, (event) => {
        const row = value ? event.target.closest?.("tr[data-row]")?.dataset.row : null;
        acts.point(row == null ? null : Number(row));
      });
  }

  draw(seen) {
    if (this.headings !== seen.headings.join("|")) this.drawHead(seen);
    if (this.sorted.column === null) {
      const judged = seen.headings.findIndex((name, i) => seen.numeric[i] && /deviation|response|error/.test(name));
      this.sorted.column = judged < 0 ? 0 : judged;
    }
    this.seen = seen;
    for (const reading of seen.readings) this.drawRow(reading);
    if (this.order.length !== seen.readings.length) this.sort();
    this.mark();
  }

  drawHead(seen) {
    this.headings = seen.headings.join("|");
    this.head.replaceChildren();
    ["left out", ...seen.headings].forEach((name, i) => {
      const cell = document.createElement("th");
      cell.scope = "col";
      if (i === 0) cell.textContent = name;
      else {
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = name;
        button.addEventListener("click", () => this.sortBy(i - 1));
        cell.append(button);
      }
      cell.className = i > 0 && seen.numeric[i - 1] ? "number" : "";
      this.head.append(cell);
    });
  }

  drawRow(reading) {
    let row = this.rows.get(reading.row);
    if (!row) {
      row = document.createElement("tr");
      row.dataset.row = reading.row;
      const tick = document.createElement("input");
      tick.type = "checkbox";
      tick.addEventListener("click", (event) => { event.preventDefault(); this.acts.toggle(reading.row); });
      row.append(document.createElement("td"));
      row.firstChild.append(tick);
      for (const index of reading.cells.keys()) {
        const cell = document.createElement("td");
        cell.className = this.seen.numeric[index] ? "number" : "";
        row.append(cell);
      }
      const why = document.createElement("input");
      why.type = "text";
      why.maxLength = 300;
      why.addEventListener("change", () => this.acts.reason(reading.row, why.value));
      row.lastChild.append(why, document.createElement("span"));
      this.rows.set(reading.row, row);
    }
    const tick = row.querySelector("input[type=checkbox]");
    if (tick.checked !== reading.out) setTimeout(() => { tick.checked = reading.out; });
    tick.setAttribute("aria-label", `leave out ${reading.name}`);
    row.classList.toggle("out", reading.out);
    reading.cells.forEach((text, index) => {
      const cell = row.cells[index + 1];
      if (index < reading.cells.length - 1) { if (cell.textContent !== text) cell.textContent = text; return; }
      const [why, words] = cell.children, own = reading.out && !reading.filed;
      why.hidden = !own;
      why.setAttribute("aria-label", `why ${reading.label} is left out`);
      if (document.activeElement !== why && why.value !== text) why.value = text;
      words.textContent = own ? "" : text && reading.filed ? `${text} (by the file)` : text;
    });
  }

  sortBy(column) {
    this.sorted = { column, down: this.sorted.column === column ? !this.sorted.down : true };
    this.sort();
    this.mark();
  }

  sort() {
    const { column, down } = this.sorted, number = this.seen.numeric[column];
    const size = /deviation|response|error/.test(this.seen.headings[column]) ? Math.abs : same;
    const key = (reading) => (number ? (reading.sort[column] === null ? -Infinity : size(reading.sort[column]))
      : reading.cells[column]);
    const compare = (a, b) => (key(a) < key(b) ? -1 : key(a) > key(b) ? 1 : b.row - a.row);
    this.order = [...this.seen.readings].sort(compare);
    if (down) this.order.reverse();
    this.body.replaceChildren(...this.order.map((reading) => this.rows.get(reading.row)));
  }

  mark() {
    [...this.head.cells].forEach((cell, i) => {
      if (i === this.sorted.column + 1) cell.setAttribute("aria-sort", this.sorted.down ? "descending" : "ascending");
      else cell.removeAttribute("aria-sort");
    });
  }

  point(row) {
    for (const [key, element] of this.rows) element.classList.toggle("pointed", key === row);
  }
}
