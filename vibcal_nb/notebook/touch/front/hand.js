// What a hand does on the figure: point, click, drag a limit, draw a box to zoom in, and the same by keys.

const REACH = { mouse: 26, pen: 26, touch: 36 }; // pixels from the centre of a mark
const STILL = 5; // pixels: what moves less is a click

/** Let a hand act on a picture. `acts`: point(row), toggle(row), set(grip, value, stroke), rest(), release(), redraw(). */
function handOn(picture, acts, controls) {
  const { svg } = picture;
  let down = null, strokes = 0;
  const place = (event) => {
    const around = svg.getBoundingClientRect(), wide = Number(svg.getAttribute("width"));
    const per = wide / around.width;
    return [(event.clientX - around.left) * per, (event.clientY - around.top) * per];
  };
  const gripOf = (element) => picture.grips.find((grip) => grip.element === element?.closest?.(".grip"));
  const viewAt = ([x, y]) => picture.panes.find(({ box }) =>
    x >= box.left && x <= box.left + box.wide && y >= box.top && y <= box.top + box.high);

  svg.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    const grip = gripOf(event.target), at = place(event);
    down = { at, grip, view: grip ? null : viewAt(at), pointer: event.pointerType, moved: false,
      stroke: `drag ${++strokes}` };
    if (grip) {
      event.preventDefault();
      svg.setPointerCapture(event.pointerId);
      grip.element.focus?.({ preventScroll: true });
      acts.rest();
    }
  });
  svg.addEventListener("pointermove", (event) => {
    const at = place(event);
    if (!down) { acts.point(picture.nearest(...at, REACH[event.pointerType] ?? 26)?.row ?? null); return; }
    down.moved ||= Math.hypot(at[0] - down.at[0], at[1] - down.at[1]) > STILL;
    if (down.grip) drag(down.grip, at, down.stroke);
    else if (down.moved && down.view && down.pointer !== "touch") {
      if (!svg.hasPointerCapture(event.pointerId)) svg.setPointerCapture(event.pointerId);
      down.to = at;
      box(down.view, down.at, at);
    }
  });
  const end = (event, done) => {
    const was = down;
    down = null;
    picture.layers.guide.sweep();
    if (!was) return;
    if (was.grip) acts.release();
    else if (done && !was.moved) {
      const found = picture.nearest(...was.at, REACH[was.pointer] ?? 26);
      if (found) { acts.point(found.row); acts.toggle(found.row); }
    } else if (done && was.to) zoomTo(picture, was.view, was.at, was.to, acts);
  };
  svg.addEventListener("pointerup", (event) => end(event, true));
  svg.addEventListener("pointercancel", (event) => end(event, false));
  svg.addEventListener("pointerleave", () => { if (!down) acts.point(null); });
  svg.addEventListener("dblclick", (event) => {
    if (picture.nearest(...place(event), 26)) return;
    picture.look.zoom = {};
    acts.redraw();
  });

  /** The limit follows the hand at once, before the kernel answers. */
  function drag(grip, at, stroke) {
    const { view } = grip, { box } = view, upright = grip.along === "y";
    const [low, high] = upright ? [box.top, box.top + box.high] : [box.left, box.left + box.wide];
    const held = Math.min(Math.max(upright ? at[1] : at[0], low), high);
    const value = upright ? view.fromY(view.y.value(held)) : view.fromX(view.x.value(held));
    grip.element.setAttribute("transform", upright ? `translate(${grip.x} ${held})` : `translate(${held} ${grip.y})`);
    const line = upright ? { x1: box.left, x2: box.left + box.wide, y1: held, y2: held }
      : { y1: box.top, y2: box.top + box.high, x1: held, x2: held };
    picture.layers.guide.get("line", "line", { ...line, stroke: ink("#0068a8"), "stroke-width": 1.5 });
    acts.set(grip, (value - grip.base) / grip.per, stroke);
  }

  function box(view, from, to) {
    const [x, y] = [Math.min(from[0], to[0]), Math.min(from[1], to[1])];
    picture.layers.guide.get("box", "rect", { x, y, width: Math.abs(from[0] - to[0]), height: Math.abs(from[1] - to[1]),
      fill: ink("#0068a8"), "fill-opacity": 0.12, stroke: ink("#0068a8"), "clip-path": `url(#${picture.id}-${view.number})` });
  }

  svg.addEventListener("keydown", (event) => {
    const row = event.target.dataset?.row, grip = gripOf(event.target);
    if (row !== undefined) onReading(event, Number(row));
    else if (grip) onGrip(event, grip);
  });
  svg.addEventListener("focusin", (event) => {
    const row = event.target.dataset?.row;
    if (row !== undefined) { acts.point(Number(row)); picture.focused = Number(row); rove(); }
  });
  svg.addEventListener("focusout", (event) => {
    if (gripOf(event.target)) acts.release();
    if (event.target.dataset?.row !== undefined) acts.point(null);
  });

  /** The readings are one stop of the Tab key. */
  function rove() {
    const rows = order();
    if (!rows.includes(picture.focused)) picture.focused = rows[0];
    for (const [row, [first]] of picture.places)
      first.mark.setAttribute("tabindex", row === picture.focused ? "0" : "-1");
  }
  function order() {
    return [...picture.places].sort(([a, [p]], [b, [q]]) => p.pane - q.pane || p.x - q.x || p.y - q.y || a - b)
      .map(([row]) => row);
  }
  function onReading(event, row) {
    const rows = order(), at = rows.indexOf(row);
    const next = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0,
      End: rows.length - 1 }[event.key];
    if (next !== undefined) picture.places.get(rows[Math.min(Math.max(next, 0), rows.length - 1)])[0].mark.focus();
    else if (event.key === " " || event.key === "Enter") acts.toggle(row);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }
  function onGrip(event, grip) {
    const control = controls.find((item) => item.name === grip.control), step = control.step ?? 0;
    const value = picture.seen.values[grip.control], one = grip.part === null ? value : value[grip.part];
    const options = control.options?.map((option) => option.value);
    const by = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 10, PageDown: -10 }[event.key];
    let next;
    if (by !== undefined) next = options ? options[Math.min(Math.max(options.indexOf(one) + by, 0), options.length - 1)]
      : Math.round((one + by * step) / step) * step;
    else if (event.key === "Home") next = options ? options[0] : control.least;
    else if (event.key === "End") next = options ? options.at(-1) : control.most;
    else return;
    event.preventDefault();
    event.stopPropagation();
    acts.rest();
    acts.set(grip, next, "");
  }
  return { rove };
}

/** Show what lies within a box, of all plots of its column that share x. */
function zoomTo(picture, view, from, to, acts) {
  const two = (a, b) => [Math.min(a, b), Math.max(a, b)];
  const x = two(view.fromX(view.x.value(from[0])), view.fromX(view.x.value(to[0])));
  const y = two(view.fromY(view.y.value(from[1])), view.fromY(view.y.value(to[1])));
  if (Math.abs(from[0] - to[0]) < 12 || Math.abs(from[1] - to[1]) < 12) return;
  for (const other of picture.panes)
    if (other.pane.column === view.pane.column && other.pane.x.log === view.pane.x.log)
      picture.look.zoom[other.number] = { ...picture.look.zoom[other.number], x };
  picture.look.zoom[view.number] = { x, y };
  acts.redraw();
}

/** Zoom all plots in or out about their middles. */
function zoomBy(picture, factor) {
  for (const view of picture.panes) {
    const about = ([low, high], log) => {
      const use = log ? Math.log : same, back = log ? Math.exp : same;
      const [a, b] = [use(low), use(high)], half = ((b - a) / 2) * factor;
      return [back((a + b) / 2 - half), back((a + b) / 2 + half)];
    };
    picture.look.zoom[view.number] = {
      x: about(view.x.limits, view.x.log).map(view.fromX), y: about(view.y.limits, view.y.log).map(view.fromY),
    };
  }
}
