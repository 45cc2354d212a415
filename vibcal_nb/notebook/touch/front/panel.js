// The whole panel, and the way to and from the kernel: one action is under way, the newest of each limit waits.

const SUGGESTED = ["typing error", "shaker not settled", "cable moved", "overload shown", "wrong range", "another level"];

/** Actions to the kernel, one at a time. While one is under way, of each limit only the newest value is kept. */
class Sender {
  constructor(model, changed) {
    Object.assign(this, { model, changed, waiting: [], number: 0, under: null });
  }
  send(action) {
    if (action.do === "set") this.waiting = this.waiting.filter((other) => other.do !== "set" || other.name !== action.name);
    this.waiting.push(action);
    this.next();
  }
  next() {
    if (this.under !== null || !this.waiting.length) return;
    this.under = ++this.number;
    this.model.send({ ...this.waiting.shift(), number: this.under, last: !this.waiting.length });
    clearTimeout(this.late);
    this.late = setTimeout(() => this.changed(true), 4000);
  }
  answered(number) {
    if (this.under === null || number < this.under) return;
    clearTimeout(this.late);
    this.under = null;
    this.changed(false);
    this.next();
  }
  get idle() { return this.under === null && !this.waiting.length; }
}

const make = (tag, attributes = {}, ...children) => {
  const element = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes))
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else if (value === true) element.setAttribute(key, "");
    else if (value !== false && value !== null) element.setAttribute(key, value);
  element.append(...children);
  return element;
};
const button = (text, act, title = null) => make("button", { type: "button", onclick: act, title }, text);

const capital = (text) => text[0].toUpperCase() + text.slice(1);

/** The controls by which limits and choices are typed. */
class Controls {
  constructor(host, controls, set) {
    this.fields = controls.map((control) => {
      const inputs = control.kind === "choice"
        ? [make("select", {}, ...control.options.map((option) => make("option", {}, option.text)))]
        : [0, 1].slice(0, control.kind === "pair" ? 2 : 1).map(() => make("input", { type: "number", step: "any" }));
      inputs.forEach((input, part) => {
        const words = control.kind === "pair" ? `${control.label}, ${part ? "highest" : "lowest"}` : control.label;
        input.setAttribute("aria-label", words);
        input.addEventListener("change", () => set(control, this.typed(control, inputs), ""));
        if (control.kind !== "choice") input.addEventListener("keydown", (event) => {
          const by = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
          if (by === undefined) return;
          event.preventDefault();
          const value = Math.round((Number(input.value) + by * control.step) / control.step) * control.step;
          input.value = Number(value.toPrecision(8));
          set(control, this.typed(control, inputs), "");
        });
        for (const name of ["keydown", "keyup"]) input.addEventListener(name, (event) => event.stopPropagation());
      });
      const mark = make("span", { class: "was" });
      host.append(make("div", { class: "field" }, make("span", { class: "name" }, control.label), ...inputs, mark));
      return { control, inputs, mark };
    });
  }
  typed(control, inputs) {
    if (control.kind === "choice") return control.options[inputs[0].selectedIndex].value;
    const numbers = inputs.map((input) => (input.value === "" ? null : Number(input.value)));
    return control.kind === "pair" ? numbers : numbers[0];
  }
  draw(seen) {
    for (const { control, inputs, mark } of this.fields) {
      const value = seen.values[control.name];
      if (control.kind === "choice") inputs[0].selectedIndex = control.options.findIndex((o) => o.value === value);
      else inputs.forEach((input, part) => {
        const text = String(Number((control.kind === "pair" ? value[part] : value).toPrecision(6)));
        if (input.value !== text && !(document.activeElement === input && this.busy)) input.value = text;
      });
      const idle = control.name === "r" && seen.values.rule === "simple";
      inputs.forEach((input) => { input.disabled = idle; });
      mark.textContent = idle ? "not used by the simple rule" : "";
    }
  }
}

class Panel {
  constructor(model, root) {
    this.model = model;
    this.root = root;
    this.fixed = model.get("fixed");
    this.sender = new Sender(model, (late) => this.waits(late));
    root.classList.add("vibcal-touch");
    root.dataset.lmSuppressShortcuts = "true"; // keys of JupyterLab
    this.build();
    this.draw();
    this.reasons.innerHTML = model.get("reasons");
  }

  build() {
    const acts = {
      point: (row) => this.point(row),
      toggle: (row) => this.toggle(row),
      set: (grip, value, stroke) => this.setGrip(grip, value, stroke),
      reason: (row, reason) => this.sender.send({ do: "leave out", row, reason }),
      rest: () => { this.picture.resting ??= this.picture.panes.map((view) => view.whole); },
      release: () => { this.picture.resting = null; if (this.sender.idle) this.drawPicture(); },
      redraw: () => this.drawPicture(),
    };
    this.headline = make("strong", { class: "headline" });
    this.differs = make("ul", { class: "differences" });
    this.head = make("header", {}, this.headline, this.differs);
    this.said = make("p", { class: "said", role: "alert" });
    this.live = make("p", { class: "unseen", "aria-live": "polite" });
    this.plot = make("div", { class: "plot" });
    this.tip = make("div", { class: "tip", hidden: true, "aria-hidden": "true" });
    this.key = make("p", { class: "key" });
    this.reason = make("input", { type: "text", list: "vibcal-reasons", maxlength: 300, "aria-label":
      "why the next reading is left out", placeholder: "why the next reading is left out" });
    for (const name of ["keydown", "keyup"]) this.reason.addEventListener(name, (event) => event.stopPropagation());
    const list = make("datalist", { id: "vibcal-reasons" }, ...SUGGESTED.map((text) => make("option", { value: text })));
    this.ask = make("form", { class: "ask", hidden: true });
    const side = make("div", { class: "side" });
    this.summary = make("div", { class: "summary scrolls", tabindex: 0, role: "region", "aria-label": "figures" });
    this.reasons = make("div", { class: "reasons" });
    this.kept = new Findings(this.fixed.keeps, {
      keep: (words) => this.sender.send({ do: "keep", ...words, picture: this.picture.saved() }),
      open: (number) => this.sender.send({ do: "open", finding: number }),
    });
    const lower = make("div", { class: "readings scrolls", tabindex: 0, role: "region", "aria-label": "readings" });
    this.picture = new Picture(this.plot, this.fixed.units[0]?.text);
    this.root.append(this.head, this.tools(), this.said, make("div", { class: "body" },
      make("div", { class: "main" }, make("div", { class: "stage" }, this.plot, this.tip), this.key), side),
      make("div", { class: "why", hidden: !this.model.get("seen").readings.length }, this.reason, list), this.ask, lower, this.kept.element, this.summary, this.reasons,
      this.live);
    this.controls = new Controls(side, this.fixed.controls, (control, value, stroke) => this.set(control, value, stroke));
    this.hand = handOn(this.picture, acts, this.fixed.controls);
    this.readings = new Readings(lower, acts);
    this.readings.seen = this.model.get("seen");
    lower.hidden = !this.readings.seen.readings.length; // a plan has none yet
    let wide = 0;
    this.resized = new ResizeObserver(() => {
      if (this.plot.clientWidth === wide || !this.plot.clientWidth) return;
      wide = this.plot.clientWidth;
      this.drawPicture();
    });
    this.resized.observe(this.plot);
  }

  tools() {
    const send = (action) => () => this.sender.send({ do: action });
    const look = (change) => () => { change(this.picture.look); this.drawPicture(); };
    this.undo = button("Undo", send("undo"));
    this.redo = button("Redo", send("redo"));
    this.back = button(`Back to the ${this.model.get("seen").base}`, send("record"));
    const pressed = (text, read, change) => {
      const item = button(text, () => { change(); item.setAttribute("aria-pressed", String(read())); this.drawPicture(); });
      item.setAttribute("aria-pressed", "false");
      return item;
    };
    const looks = () => this.picture.look;
    const items = [this.undo, this.redo, this.back,
      pressed(`${capital(this.model.get("seen").base)} behind`, () => looks().behind, () => { looks().behind = !looks().behind; })];
    const { panes } = this.fixed.behind;
    items.push(button("Closer", () => { zoomBy(this.picture, 0.7); this.drawPicture(); }),
      button("Wider", () => { zoomBy(this.picture, 1 / 0.7); this.drawPicture(); }),
      button("Whole", look((it) => { it.zoom = {}; })));
    const turned = panes.some((pane) => pane.x.log) ? "Linear x" : "Logarithmic x";
    if (panes.every((pane) => pane.x.limits[0] >= 0 && !pane.x.ticks?.length)) // of a deviation there is no logarithm
      items.push(pressed(turned, () => Boolean(looks().turned), () => {
        looks().turned = !looks().turned;
        panes.forEach((pane, i) => { looks().log[i] = looks().turned ? !pane.x.log : undefined; });
      }));
    if (panes.some((pane) => pane.ratio))
      items.push(pressed("In dB", () => looks().decibels, () => { looks().decibels = !looks().decibels; }));
    if (this.fixed.units.length > 1 && panes.some((pane) => pane.x.label === this.picture.levelLabel)) {
      const unit = make("select", { "aria-label": "unit of levels in the figure", onchange: () => {
        looks().unit = unit.selectedIndex ? this.fixed.units[unit.selectedIndex] : null;
        this.drawPicture();
      } }, ...this.fixed.units.map((item) => make("option", {}, item.text)));
      items.push(unit);
    }
    items.push(button("Save SVG", () => this.save("svg")), button("Save PNG", () => this.save("png")));
    return make("div", { class: "tools", role: "group", "aria-label": "what can be done with the figure" }, ...items);
  }

  draw() {
    const seen = this.model.get("seen");
    this.seen = seen;
    this.root.classList.toggle("what-if", !seen.is_record);
    if (this.headline.textContent !== seen.headline) {
      if (this.headline.textContent) this.live.textContent = [seen.headline, ...seen.differences].join("; ");
      this.headline.textContent = seen.headline;
    }
    const differs = seen.is_record ? [] : seen.differences;
    this.differs.replaceChildren(...differs.map((text) => make("li", {}, text)));
    this.said.textContent = seen.said;
    if (this.summaryHtml !== seen.summary) this.summary.innerHTML = this.summaryHtml = seen.summary;
    this.undo.disabled = !seen.undo;
    this.redo.disabled = !seen.redo;
    this.back.disabled = seen.is_record;
    this.controls.draw(seen);
    this.readings.draw(seen);
    this.kept.draw(seen);
    this.drawPicture();
  }

  drawPicture() {
    this.picture.draw(this.seen, this.fixed.behind);
    this.picture.svg.setAttribute("role", "group");
    this.picture.svg.setAttribute("aria-label", `${this.seen.headline}. ${this.seen.figure.text}`);
    this.key.textContent = this.seen.figure.key.join(" · ");
    for (const grip of this.picture.grips) this.nameGrip(grip);
    this.hand.rove();
    this.point(this.pointed);
  }

  nameGrip(grip) {
    if (!grip.first) return;
    const control = this.fixed.controls.find((item) => item.name === grip.control);
    const value = this.seen.values[grip.control], one = grip.part === null ? value : value[grip.part];
    const options = control.options, now = options ? options.findIndex((o) => o.value === one) : one;
    const text = options ? options[now]?.text ?? "" : plain(one);
    const words = grip.part === null ? control.label : `${control.label}, ${grip.part ? "highest" : "lowest"}`;
    for (const [key, is] of Object.entries({ role: "slider", "aria-label": words, "aria-valuenow": now,
      "aria-valuemin": options ? 0 : Math.min(control.least, one), "aria-valuemax": options ? options.length - 1
        : Math.max(control.most, one), "aria-valuetext": text,
      "aria-orientation": grip.along === "y" ? "vertical" : "horizontal" }))
      grip.element.setAttribute(key, is);
  }

  /** Name the reading that is pointed at, in figure and table. */
  point(row) {
    this.pointed = row ?? null;
    this.readings.point(this.pointed);
    for (const [key, places] of this.picture.places)
      for (const place of places) place.mark.classList.toggle("pointed", key === this.pointed);
    const places = this.pointed === null ? null : this.picture.places.get(this.pointed);
    const reading = places && this.seen.readings.find((item) => item.row === this.pointed);
    this.tip.hidden = !reading;
    if (!reading) return;
    this.tip.textContent = reading.name + (reading.out ? `; left out: ${reading.why}` : "");
    const [{ x, y }] = places, right = x > this.plot.clientWidth / 2;
    this.tip.style.left = right ? "" : `${x + 14}px`;
    this.tip.style.right = right ? `${this.plot.clientWidth - x + 14}px` : "";
    this.tip.style.top = `${y + 10}px`;
  }

  /** Leave a reading out or use it again. One that the file leaves out is used with a reason only. */
  toggle(row) {
    const reading = this.seen.readings.find((item) => item.row === row);
    if (reading.out && reading.filed) this.askFor(reading);
    else if (reading.out) this.sender.send({ do: "take back", row });
    else this.sender.send({ do: "leave out", row, reason: this.reason.value });
  }

  askFor(reading) {
    const why = make("input", { type: "text", required: true, maxlength: 300, "aria-label":
      `why ${reading.label} is used all the same` });
    for (const name of ["keydown", "keyup"]) why.addEventListener(name, (event) => event.stopPropagation());
    const shut = () => { this.ask.hidden = true; this.ask.replaceChildren(); };
    this.ask.onsubmit = (event) => {
      event.preventDefault();
      this.sender.send({ do: "take back", row: reading.row, reason: why.value });
      shut();
    };
    this.ask.replaceChildren(make("p", {}, `The file leaves out ${reading.label}: ${reading.filed}. To try it with this`
      + " reading, write why."), why, make("button", { type: "submit" }, `Use ${reading.label} all the same`),
    button("It stays left out", shut));
    this.ask.hidden = false;
    why.focus();
  }

  set(control, value, stroke) {
    this.sender.send({ do: "set", name: control.name, value, stroke });
  }

  setGrip(grip, wanted, stroke) {
    const control = this.fixed.controls.find((item) => item.name === grip.control);
    let value = wanted;
    if (control.options) {
      const near = (option) => Math.abs(Math.log(option.value / wanted));
      value = control.options.reduce((best, option) => (near(option) < near(best) ? option : best)).value;
    } else {
      value = Math.round(wanted / control.step) * control.step; // to a step at once, so that it is analysed once
      value = Number(Math.min(Math.max(value, control.least), control.most).toPrecision(8));
    }
    if (grip.part !== null) {
      const pair = [...this.seen.values[grip.control]];
      pair[grip.part] = grip.part ? Math.max(value, pair[0]) : Math.min(value, pair[1]);
      value = pair;
    }
    if (JSON.stringify(value) === JSON.stringify(this.newest?.[control.name] ?? this.seen.values[control.name])) return;
    this.newest = { [control.name]: value };
    this.set(control, value, stroke);
  }

  waits(late) {
    if (this.sender.idle) this.newest = null;
    this.root.classList.toggle("late", late);
    if (late) this.said.textContent = "The kernel has not answered yet. If it was restarted, run the notebook again.";
  }

  async save(kind) {
    const svg = new Blob([this.picture.saved()], { type: "image/svg+xml" });
    const blob = kind === "svg" ? svg : await asPng(svg);
    const link = make("a", { href: URL.createObjectURL(blob), download: `${this.seen.file}.${kind}` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }
}

/** A picture of a file of the figure, at twice its size. */
async function asPng(svg) {
  const picture = new Image(), address = URL.createObjectURL(svg);
  picture.src = address;
  await picture.decode();
  const canvas = make("canvas", { width: 2 * picture.width, height: 2 * picture.height });
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  URL.revokeObjectURL(address);
  return new Promise((resolve) => canvas.toBlob(resolve, "image/png"));
}

function render({ model, el }) {
  const panel = new Panel(model, el);
  const seen = () => { panel.draw(); panel.sender.answered(model.get("seen").answers); };
  const reasons = () => { panel.reasons.innerHTML = model.get("reasons"); };
  model.on("change:seen", seen);
  model.on("change:reasons", reasons);
  return () => {
    model.off("change:seen", seen);
    model.off("change:reasons", reasons);
    panel.resized.disconnect();
  };
}

export default { render };
