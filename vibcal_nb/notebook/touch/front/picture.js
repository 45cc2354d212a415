// The figure as SVG: its parts are kept by name and only what changed is set, so that focus survives every answer.

const SVG = "http://www.w3.org/2000/svg";
const MARGINS = { left: 58, right: 46, top: 24, bottom: 36, between: 12 };
const NARROW = 330; // pixels: a column of plots that has less goes below the one before
const PX = 96 * 1.3; // an inch of the record's figure
const POINT = 4 / 3; // pixels
const SHAPES = {
  o: (r) => `M${-r},0a${r},${r} 0 1,0 ${2 * r},0a${r},${r} 0 1,0 ${-2 * r},0z`,
  "^": (r) => `M0,${-r}L${r},${r}L${-r},${r}z`,
  v: (r) => `M0,${r}L${r},${-r}L${-r},${-r}z`,
  s: (r) => `M${-r},${-r}H${r}V${r}H${-r}z`,
  D: (r) => `M0,${-1.3 * r}L${1.3 * r},0L0,${1.3 * r}L${-1.3 * r},0z`,
  d: (r) => `M0,${-1.3 * r}L${0.8 * r},0L0,${1.3 * r}L${-0.8 * r},0z`,
  x: (r) => `M${-r},${-r}L${r},${r}M${r},${-r}L${-r},${r}`,
  X: (r) => `M${-r},${-r}L${r},${r}M${r},${-r}L${-r},${r}`,
  "|": (r) => `M0,${-r}V${r}`,
};
const ink = (colour) => (/^#[0-9a-f]{6}$/i.test(colour) ? `var(--c-${colour.slice(1)}, ${colour})` : colour);

/** Elements below a parent, kept by name from one drawing to the next. */
function keeper(parent, namespace = SVG) {
  const kept = new Map();
  let used = new Set();
  return {
    get: (name, tag, attributes = {}, text = null) => {
      let element = kept.get(name);
      if (!element || element.localName !== tag) {
        element?.remove();
        element = document.createElementNS(namespace, tag);
        kept.set(name, element);
        parent.append(element);
      }
      used.add(name);
      for (const [key, value] of Object.entries(attributes))
        if (element.getAttribute(key) !== String(value)) element.setAttribute(key, value);
      if (text !== null && element.textContent !== text) element.textContent = text;
      return element;
    },
    sweep: () => {
      for (const [name, element] of kept) if (!used.has(name)) { element.remove(); kept.delete(name); }
      used = new Set();
    },
  };
}

/** The figure within `host`. What is seen is a function of `draw`'s arguments and of `look`, what a person switched. */
class Picture {
  constructor(host, levelUnit) {
    this.host = host;
    this.levelLabel = levelUnit ? `level, ${levelUnit}` : null;
    this.look = { zoom: {}, log: {}, decibels: false, unit: null, behind: false };
    this.svg = document.createElementNS(SVG, "svg");
    this.svg.setAttribute("class", "figure");
    this.svg.setAttribute("font-family", "DejaVu Sans, Verdana, sans-serif");
    host.append(this.svg);
    this.id = `vt${Math.random().toString(36).slice(2)}`;
    this.layers = {};
    for (const name of ["frame", "behind", "under", "readings", "over", "grips", "guide"]) {
      const group = document.createElementNS(SVG, "g");
      group.setAttribute("class", name);
      this.svg.append(group);
      this.layers[name] = keeper(group);
    }
    this.resting = null; // the limits while a limit moves
    this.panes = [];
    this.places = new Map();
  }

  /** Where the plots stand: side by side as in the record, or below one another where it is narrow. */
  lay(figure, width) {
    const MARGIN = MARGINS;
    const leftOf = (pane) => Math.max(MARGIN.left, 14 + 7.5 * Math.max(0, ...(pane.y.ticks ?? []).flatMap(([, words]) =>
      words.split("\n").map((line) => line.length)))); // names in place of numbers need more
    const columns = 1 + Math.max(...figure.panes.map((pane) => pane.column));
    const stacked = columns > 1 && width / columns < NARROW;
    const inner = width - (stacked ? 1 : columns) * (MARGIN.left + MARGIN.right);
    const share = figure.panes.filter((pane) => pane.row === 0).reduce((sum, pane) => sum + pane.wide, 0);
    const order = stacked ? [...figure.panes].sort((a, b) => a.column - b.column || a.row - b.row) : figure.panes;
    const rowOf = (pane) => (stacked ? order.indexOf(pane) : pane.row);
    const tops = new Map();
    let y = 26; // below the headline
    for (const row of [...new Set(order.map(rowOf))].sort((a, b) => a - b)) {
      const panes = order.filter((pane) => rowOf(pane) === row);
      const above = panes.some((pane) => Object.keys(pane.titles).length || pane.items.some((i) => i.kind === "text"
        && i.given_in[1] === "axes" && i.at[1] > 1)) ? MARGIN.top : MARGIN.between;
      const high = Math.max(...panes.map((pane) => pane.high)) * figure.inches * PX;
      tops.set(row, { top: y + above, high });
      const below = order.find((other) => rowOf(other) === row + 1);
      const other = below && String(below.x.limits) !== String(panes[0].x.limits); // it needs numbers of its own
      y += above + high + (panes.some((pane) => pane.x.label) ? MARGIN.bottom : other ? 22 : 0);
    }
    const boxes = figure.panes.map((pane) => {
      const { top, high } = tops.get(rowOf(pane));
      const alone = stacked || figure.panes.filter((other) => other.row === pane.row).length === 1;
      if (alone) return { left: leftOf(pane), top, wide: width - leftOf(pane) - MARGIN.right, high };
      const before = figure.panes.filter((other) => other.row === pane.row && other.column < pane.column);
      const left = before.reduce((sum, other) => sum + MARGIN.left + MARGIN.right + (inner * other.wide) / share, 0);
      return { left: left + MARGIN.left, top, wide: (inner * pane.wide) / share, high };
    });
    return { boxes, height: y + 4 };
  }

  /** Draw. `seen` is what the kernel told last, `behind` the figure of the record. */
  draw(seen, behind) {
    const width = Math.max(this.host.clientWidth, 240);
    const { figure } = seen, { boxes, height } = this.lay(figure, width);
    this.seen = seen;
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.svg.setAttribute("width", width);
    this.svg.setAttribute("height", height);
    const alike = behind && behind.panes.length === figure.panes.length;
    this.panes = figure.panes.map((pane, number) =>
      this.scaled(pane, number, boxes[number], alike ? behind.panes[number] : null));
    this.places = new Map();
    this.text("frame", "headline", 4, 15, seen.headline, { "font-size": 13, "font-weight": "bold",
      fill: seen.is_record ? ink("#222222") : ink("#8a5a00") });
    this.panes.forEach((pane) => this.drawPane(pane, this.look.behind && alike ? behind.panes[pane.number] : null));
    this.drawGrips(seen.grips);
    for (const layer of Object.values(this.layers)) layer.sweep();
    return this;
  }

  /** A plot with its scales: the record's where they hold all that is shown, resting ones while a limit moves. */
  scaled(pane, number, box, record) {
    const inDb = this.look.decibels && pane.ratio;
    const unit = this.levels(pane) ? this.look.unit : null;
    const toX = unit ? (v) => v * unit.factor : same, fromX = unit ? (v) => v / unit.factor : same;
    const toY = inDb ? inDecibels : same, fromY = inDb ? inPercent : same;
    const readings = pane.items.filter((item) => item.kind === "marks" && item.rows.length);
    let { x: { limits: x }, y: { limits: y } } = pane;
    if (record) {
      const grips = this.seen.grips.filter((grip) => grip.pane === number);
      const at = (grip) => this.gripAt(grip);
      const holds = (limits, values) => values.every((v) => v === null || (v >= Math.min(...limits) && v <= Math.max(...limits)));
      const up = [...readings.flatMap((i) => i.y), ...grips.filter((g) => g.along === "y").map(at)];
      const across = [...readings.flatMap((i) => i.x), ...grips.filter((g) => g.along === "x").map(at)];
      if (holds(record.y.limits, up)) y = record.y.limits;
      if (holds(record.x.limits, across)) x = record.x.limits;
    }
    if (this.resting?.[number]) ({ x, y } = this.resting[number]);
    const whole = { x, y };
    const zoom = this.look.zoom[number];
    if (zoom) ({ x, y } = { x: zoom.x ?? x, y: zoom.y ?? y });
    const log = this.look.log[number] ?? pane.x.log;
    if (log) x = logLimits(x, readings.flatMap((item) => item.x));
    return {
      pane, number, box, whole, inDb, unit, fromX, fromY, toX, toY, log,
      x: makeScale(x.map(toX), log, box.left, box.left + box.wide),
      y: makeScale(y.map(toY), pane.y.log, box.top + box.high, box.top),
    };
  }

  levels(pane) {
    const below = this.seen.figure.panes.filter((other) => other.column === pane.column);
    return below.some((other) => other.x.label === this.levelLabel);
  }

  drawPane(view, behind) {
    const { pane, number, box } = view, frame = this.layers.frame;
    frame.get(`clip${number}`, "clipPath", { id: `${this.id}-${number}` });
    const clip = frame.get(`clip${number}`, "clipPath");
    if (!clip.firstChild) clip.append(document.createElementNS(SVG, "rect"));
    const around = { x: box.left, y: box.top, width: box.wide, height: box.high };
    for (const [key, value] of Object.entries(around)) clip.firstChild.setAttribute(key, value);
    this.drawAxes(view);
    const clipped = { "clip-path": `url(#${this.id}-${number})` };
    behind?.items.filter((item) => ["line", "marks", "level"].includes(item.kind)).forEach((item, index) =>
      this.drawItem("behind", `${number}:${index}`, { ...item, rows: [] }, view, { ...clipped, opacity: 0.35 }));
    const counts = {};
    for (const item of pane.items) {
      counts[item.kind] = (counts[item.kind] ?? 0) + 1; // a curve keeps its element where a text is new
      const name = `${number}:${item.kind}${counts[item.kind]}`;
      this.drawItem(item.kind === "text" ? "over" : "under", name, item, view, clipped);
    }
  }

  drawAxes(view) {
    const { pane, number, box, x, y } = view, bottom = box.top + box.high, grey = ink("#6a6a6a");
    const lowest = this.seen.figure.panes.every((other) => other.column !== pane.column || other.row <= pane.row)
      || this.panes.every((other) => other.box.left !== box.left || other.box.top <= box.top);
    const line = (name, x1, y1, x2, y2, stroke) =>
      this.layers.frame.get(`${number}${name}`, "line", { x1, y1, x2, y2, stroke, "stroke-width": 0.8 });
    const across = pane.x.ticks ?? roundPlaces(x.limits, x.log, Math.min(9, box.wide / 60)).map((v) => [v, plain(v)]);
    let taken = -Infinity; // by the words before
    for (const [value, words] of across) {
      if (!x.holds(value)) continue;
      line(`x${value}`, x.at(value), box.top, x.at(value), bottom, ink("#dddddd"));
      const half = 4 * words.length;
      if (!lowest || x.at(value) - half < taken) continue;
      taken = x.at(value) + half;
      this.text("frame", `${number}xt${value}`, x.at(value), bottom + 15, words, { "text-anchor": "middle" });
    }
    const up = pane.y.ticks ?? roundPlaces(y.limits, y.log, Math.min(7, box.high / 26)).map((v) => [v, plain(v)]);
    for (const [value, words] of up) {
      line(`y${value}`, box.left, y.at(value), box.left + box.wide, y.at(value), ink("#dddddd"));
      words.split("\n").forEach((line, i, lines) => this.text("frame", `${number}yt${value}/${i}`, box.left - 6,
        y.at(value) + 4 + 14 * (i - (lines.length - 1) / 2), line, { "text-anchor": "end" }));
    }
    line("left", box.left, box.top, box.left, bottom, grey);
    line("bottom", box.left, bottom, box.left + box.wide, bottom, grey);
    const xLabel = view.unit && pane.x.label ? `level, ${view.unit.text}` : pane.x.label;
    const yLabel = view.inDb ? pane.y.label.replace(/− 100, %|, %/, "") + ", dB" : pane.y.label;
    this.text("frame", `${number}xl`, box.left + box.wide / 2, bottom + 31, xLabel, { "text-anchor": "middle" });
    const place = `rotate(-90 ${box.left - 42} ${box.top + box.high / 2})`;
    this.text("frame", `${number}yl`, box.left - 42, box.top + box.high / 2, yLabel,
      { "text-anchor": "middle", transform: place });
    for (const [side, title] of Object.entries(pane.titles)) {
      const right = side === "right";
      this.text("frame", `${number}t${side}`, right ? box.left + box.wide : box.left, box.top - 7, title.text,
        { "text-anchor": right ? "end" : "start", "font-size": 13, fill: ink(title.colour) });
    }
  }

  drawItem(layer, name, item, view, clipped) {
    const { x, y, box, toX, toY } = view, keep = this.layers[layer];
    const stroke = { stroke: ink(item.colour), "stroke-width": item.width * 1.2, fill: "none",
      "stroke-dasharray": item.dash.map((part) => part * 1.2).join(" "), ...clipped };
    const atX = (value) => x.at(toX(value)), atY = (value) => y.at(toY(value));
    const shade = { fill: ink(item.colour), stroke: "none", ...clipped };
    if (item.kind === "line") {
      let pen = "M", d = "";
      item.x.forEach((value, i) => {
        const px = atX(value), py = item.y[i] === null ? NaN : atY(item.y[i]);
        if (value === null || !Number.isFinite(px) || !Number.isFinite(py)) pen = "M";
        else { d += `${pen}${px.toFixed(1)},${py.toFixed(1)}`; pen = "L"; }
      });
      keep.get(name, "path", { d, ...stroke });
    } else if (item.kind === "area") {
      const up = item.x.map((v, i) => [atX(v), atY(item.high[i])]), down = item.x.map((v, i) => [atX(v), atY(item.low[i])]);
      const points = [...up, ...down.reverse()].filter((p) => p.every(Number.isFinite));
      keep.get(name, "polygon", { points: points.map((p) => p.map((v) => v.toFixed(1))).join(" "), ...shade });
    } else if (item.kind === "across" || item.kind === "down") {
      const flat = item.kind === "across", [one, other] = item.bounds.map(flat ? atY : atX);
      const [start, size] = [Math.min(one, other), Math.abs(one - other)];
      const place = flat ? { x: box.left, width: box.wide, y: start, height: size }
        : { y: box.top, height: box.high, x: start, width: size };
      keep.get(name, "rect", { ...place, ...shade });
    } else if (item.kind === "level" || item.kind === "upright") {
      const at = item.kind === "level" ? atY(item.at) : atX(item.at);
      const place = item.kind === "level" ? { x1: box.left, x2: box.left + box.wide, y1: at, y2: at }
        : { y1: box.top, y2: box.top + box.high, x1: at, x2: at };
      if (Number.isFinite(at)) keep.get(name, "line", { ...place, ...stroke });
    } else if (item.kind === "marks") this.drawMarks(keep, name, item, view, clipped.opacity);
    else this.drawText(name, item, view);
  }

  drawMarks(keep, name, item, view, opacity = 1) {
    const d = (SHAPES[item.shape] ?? SHAPES.o)(item.size * POINT * 0.5);
    const look = { d, stroke: ink(item.edge), fill: item.fill === "none" ? "none" : ink(item.fill), "stroke-width": 1.5 };
    item.x.forEach((value, i) => {
      const px = view.x.at(view.toX(value)), py = item.y[i] === null ? NaN : view.y.at(view.toY(item.y[i]));
      if (!Number.isFinite(px) || !Number.isFinite(py)) return;
      const place = { transform: `translate(${px.toFixed(2)} ${py.toFixed(2)})` };
      const row = item.rows[i], { box } = view;
      if (px < box.left - 1 || px > box.left + box.wide + 1 || py < box.top - 1 || py > box.top + box.high + 1) return;
      if (row === undefined) { keep.get(`${name}/${i}`, "path", { ...look, ...place, opacity }); return; }
      const first = !this.places.has(row);
      if (first) this.places.set(row, []);
      const before = this.places.get(row).filter((other) => other.pane === view.number).length; // of one visit several
      const mark = this.layers.readings.get(`${view.number}r${row}/${before}`, "path", { ...look, ...place });
      this.places.get(row).push({ x: px, y: py, mark, pane: view.number });
      this.nameMark(mark, row, first);
    });
  }

  nameMark(mark, row, first) {
    mark.setAttribute("class", "reading");
    mark.dataset.row = row;
    if (!first) { mark.setAttribute("aria-hidden", "true"); return; }
    const reading = this.seen.readings.find((item) => item.row === row);
    const label = reading ? reading.name + (reading.out ? `, left out: ${reading.why}` : "") : `row ${row}`;
    mark.removeAttribute("aria-hidden");
    mark.setAttribute("role", "checkbox");
    mark.setAttribute("aria-checked", String(Boolean(reading?.out)));
    mark.setAttribute("aria-label", `leave out ${label}`);
    if (!mark.hasAttribute("tabindex")) mark.setAttribute("tabindex", "-1");
  }

  drawText(name, item, view) {
    const { x, y, box, toX, toY } = view, [inX, inY] = item.given_in;
    const [ax, ay] = item.at;
    if (inX === "data" && !x.holds(toX(ax))) return;
    if (inY === "data" && !y.holds(toY(ay))) return;
    const lines = item.text.split("\n"), size = item.size * 1.28, high = 1.2 * size;
    const px = (inX === "axes" ? box.left + ax * box.wide : x.at(toX(ax))) + item.aside[0] * POINT;
    const py = (inY === "axes" ? box.top + (1 - ay) * box.high : y.at(toY(ay))) - item.aside[1] * POINT;
    const rise = { top: 0.95 * size, center: 0.36 * size - ((lines.length - 1) * high) / 2,
      bottom: -0.2 * size - (lines.length - 1) * high }[item.upright] ?? -(lines.length - 1) * high;
    lines.forEach((line, i) => this.text("over", `${name}/${i}`, px, py + rise + i * high, line,
      { "font-size": size, "text-anchor": item.anchor, fill: ink(item.colour) }));
  }

  text(layer, name, x, y, words, attributes = {}) {
    const common = { x: x.toFixed(1), y: y.toFixed(1), "font-size": 12, fill: ink("#222222") };
    return this.layers[layer].get(name, "text", { ...common, ...attributes }, words);
  }

  gripAt(grip) {
    const value = this.seen.values[grip.control];
    return grip.base + grip.per * (grip.part === null ? value : value[grip.part]);
  }

  /** Grips stand at the right or the lower edge of their plot, one beside the other where they would cover each other. */
  drawGrips(grips) {
    const named = new Set(), taken = [];
    this.grips = grips.map((grip) => {
      const view = this.panes[grip.pane], { box } = view, value = this.gripAt(grip), upright = grip.along === "y";
      const [scale, to] = upright ? [view.y, view.toY] : [view.x, view.toX];
      const [low, high] = upright ? [box.top, box.top + box.high] : [box.left, box.left + box.wide];
      const place = Math.min(Math.max(scale.at(to(value)), low), high);
      let px = upright ? box.left + box.wide - 12 : place, py = upright ? place : box.top + box.high - 12;
      for (const other of taken) if (Math.hypot(other[0] - px, other[1] - py) < 22) upright ? (px -= 24) : (py -= 24);
      taken.push([px, py]);
      const name = `${grip.control}/${grip.part}`, first = !named.has(name);
      named.add(name);
      const element = this.layers.grips.get(`${name}/${grip.pane}/${grip.per}/${grip.base ? 1 : 0}`, "g", {
        transform: `translate(${px.toFixed(1)} ${py.toFixed(1)})`, class: `grip ${upright ? "up" : "across"}` });
      if (!element.firstChild) {
        element.innerHTML = `<rect class="reach" x="-13" y="-13" width="26" height="26" fill="transparent"/>`
          + `<rect class="handle" x="${upright ? -9 : -4}" y="${upright ? -4 : -9}" width="${upright ? 18 : 8}"`
          + ` height="${upright ? 8 : 18}" rx="4" style="fill: ${ink("#0068a8")}; stroke: ${ink("#ffffff")}"/>`;
      }
      element.setAttribute(first ? "tabindex" : "aria-hidden", first ? "0" : "true");
      return { ...grip, name, element, first, x: px, y: py, view };
    });
  }

  /** The reading whose mark is nearest to a place, if it is within reach. */
  nearest(x, y, reach) {
    let best = null, least = reach;
    for (const [row, places] of this.places)
      for (const place of places) {
        const distance = Math.hypot(place.x - x, place.y - y);
        if (distance < least) { least = distance; best = { row, place }; }
      }
    return best;
  }

  /** The figure as a file of its own: light colours, no grips, what it is in words. */
  saved() {
    const copy = this.svg.cloneNode(true);
    for (const element of copy.querySelectorAll(".grips, .guide")) element.remove();
    for (const element of copy.querySelectorAll("[tabindex]")) element.removeAttribute("tabindex");
    const [width, height] = ["width", "height"].map((key) => Number(this.svg.getAttribute(key)));
    const lines = [this.seen.subject, ...this.seen.differences];
    const words = lines.map((line, i) => `<text x="4" y="${height + 14 + 15 * i}" font-size="12" fill="#222222">`
      + `${line.replace(/&/g, "&amp;").replace(/</g, "&lt;")}</text>`).join("");
    const whole = height + 15 * lines.length + 8;
    copy.setAttribute("height", whole);
    copy.setAttribute("viewBox", `0 0 ${width} ${whole}`);
    copy.setAttribute("xmlns", SVG);
    const text = new XMLSerializer().serializeToString(copy).replace(/var\(--c-([0-9a-f]{6})[^)]*\)/gi, "#$1");
    const open = text.indexOf(">") + 1;
    const ground = `<rect width="${width}" height="${whole}" fill="#ffffff"/>`;
    return text.slice(0, open) + ground + text.slice(open).replace(/<\/svg>$/, `${words}</svg>`);
  }
}
