// The screen at the shaker. Python writes what stands in each region; this file takes keys, touch and what is typed.
// A command goes with all that it needs in one message, so that nothing typed is taken for something older.

const KEYS = { F1: "help", F2: "remark", F3: "undo", F4: "again", F8: "coming off", F9: "steps" };
const PAD = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "⌫"];
const SETTLE_MS = 500; // a question takes no letter that was typed before it could be read

const FRAME = `
  <header data-region="top"></header>
  <main>
    <section class="left">
      <div data-region="step"></div>
      <form class="fields" autocomplete="off">
        <label>Level, <b data-unit="level"></b>
          <input data-field="level" placeholder="by the reference" inputmode="decimal" autocapitalize="off" spellcheck="false">
        </label>
        <label>Output, <b data-unit="output"></b>
          <input data-field="output" inputmode="decimal" autocapitalize="off" spellcheck="false">
        </label>
        <button type="button" data-keep>Keep <kbd>Enter</kbd></button>
      </form>
      <div data-region="said" role="alert"></div>
      <div class="pad" hidden></div>
      <div data-region="rows"></div>
    </section>
    <section class="right">
      <div data-region="ask" role="alertdialog" aria-label="Question" tabindex="-1"></div>
      <div data-region="answer" role="status" aria-live="polite"></div>
      <div data-region="sketch"></div>
    </section>
  </main>
  <div data-region="page" role="dialog" aria-label="Page" tabindex="-1"></div>
  <footer data-region="acts"></footer>`;

export function render({ model, el }) {
  const root = document.createElement("div");
  root.className = "shaker";
  root.setAttribute("data-lm-suppress-shortcuts", "true");
  root.innerHTML = FRAME;
  el.append(root);
  const find = (selector) => root.querySelector(selector);
  const region = Object.fromEntries([...root.querySelectorAll("[data-region]")].map((e) => [e.dataset.region, e]));
  const field = Object.fromEntries([...root.querySelectorAll("[data-field]")].map((e) => [e.dataset.field, e]));
  const shown = {};
  let last = field.level; // where the pad writes
  let askedAt = 0;

  const send = (act, values = {}) => {
    root.setAttribute("aria-busy", "true");
    model.send({ act, ...values });
  };

  const formValues = (button) => {
    const values = { ...button.dataset };
    delete values.do;
    for (const input of (button.closest("form") || document.createElement("form")).elements) {
      if (!input.name) continue;
      if (input.type === "checkbox") {
        values[input.name] = values[input.name] || [];
        if (input.checked) values[input.name].push(input.value);
      } else values[input.name] = input.value;
    }
    return values;
  };

  const keep = () => {
    if (!field.level.value.trim() || !field.output.value.trim()) {
      (field.level.value.trim() ? field.output : field.level).focus();
      return;
    }
    const values = { level: field.level.value, output: field.output.value };
    field.level.value = field.output.value = ""; // what is typed from here on is the next reading's
    field.level.focus();
    send("keep", values);
  };

  const whole = () => {
    if (document.fullscreenElement) document.exitFullscreen();
    else if (root.requestFullscreen) root.requestFullscreen().catch(() => root.classList.toggle("whole"));
    else root.classList.toggle("whole");
  };

  const press = (button) => {
    if (button.disabled) return;
    if (button.dataset.do === "whole") whole();
    else if (button.dataset.do === "whole page") window.print();
    else send(button.dataset.do, formValues(button));
  };

  root.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button || !root.contains(button)) return;
    if (button.dataset.pad) {
      if (button.dataset.pad === "⌫") last.value = last.value.slice(0, -1);
      else last.value += button.dataset.pad;
      last.focus();
    } else if ("keep" in button.dataset) {
      if (last === field.level && field.level.value.trim() && !field.output.value.trim()) field.output.focus();
      else keep();
    } else if (button.dataset.do) press(button);
  });

  root.addEventListener("focusin", (event) => {
    if (event.target.dataset.field) last = event.target;
  });

  root.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "touch") touch(true);
  });

  const touch = (is) => {
    find(".pad").hidden = !is;
    root.classList.toggle("touch", is);
    for (const input of Object.values(field)) input.inputMode = is ? "none" : "decimal";
  };

  root.addEventListener("submit", (event) => {
    event.preventDefault();
    const button = event.target.querySelector("button[data-do]");
    if (button) press(button);
  });

  root.addEventListener("keydown", (event) => {
    event.stopPropagation();
    const asking = Boolean(shown.ask);
    if (KEYS[event.key] && !event.ctrlKey && !event.altKey) {
      event.preventDefault();
      if (!asking) send(KEYS[event.key] === "undo" ? "undo" : "page", { name: KEYS[event.key] });
    } else if (event.key === "Escape" && shown.page) {
      event.preventDefault();
      send("page", { name: "" });
    } else if (asking && region.ask.contains(event.target)) {
      const button = region.ask.querySelector(`button[data-letter="${event.key.toUpperCase()}"]`);
      if (button && !event.repeat && performance.now() - askedAt > SETTLE_MS) {
        event.preventDefault();
        press(button);
      }
    } else if (event.key === "Enter" && event.target === field.level) {
      event.preventDefault();
      field.output.focus();
    } else if (event.key === "Enter" && event.target.type === "text" && region.page.contains(event.target)) {
      event.preventDefault(); // a scanner ends with Enter, too
      const button = event.target.closest("form").querySelector("button[data-do]");
      if (button && !event.repeat) press(button);
    } else if (event.key === "Enter" && event.target === field.output) {
      event.preventDefault();
      if (!event.repeat) keep();
    }
  });

  const put = (name, html) => {
    if (shown[name] === html) return false;
    shown[name] = html;
    region[name].innerHTML = html;
    return true;
  };

  const update = () => {
    const view = model.get("view");
    const had = document.activeElement;
    const held = had && root.contains(had) ? had : null;
    const typing = Boolean(field.level.value || field.output.value);
    const changed = Object.keys(view.regions).filter((name) => put(name, view.regions[name]));
    for (const name of ["level", "output"]) {
      find(`[data-unit="${name}"]`).textContent = view.units[name];
      if (view.returned[name] && !field[name].value) field[name].value = view.returned[name];
    }
    root.classList.toggle("asking", Boolean(shown.ask));
    root.classList.toggle("paged", Boolean(shown.page));
    root.removeAttribute("aria-busy");
    if (shown.ask && changed.includes("ask") && typing && !view.asking) {
      // an offer waits until what is being typed is done
    } else if (shown.ask && changed.includes("ask")) {
      askedAt = performance.now();
      region.ask.focus();
    } else if (shown.page && changed.includes("page")) {
      (region.page.querySelector("[autofocus]") || region.page).focus();
    } else if (typing && Object.values(field).includes(held)) {
      // who is typing into a field stays in it, whatever comes meanwhile
    } else if (changed.includes("ask") || changed.includes("page") || view.focus === "output") {
      (view.focus === "output" ? field.output : field.level).focus();
    } else if (held && !held.isConnected) field.level.focus();
  };

  find(".pad").innerHTML = PAD.map((key) => `<button type="button" data-pad="${key}">${key}</button>`).join("");
  model.on("change:view", update);
  update();
  const beat = setInterval(() => model.send({ act: "look" }), 4000);
  return () => clearInterval(beat);
}

export default { render };
