"""How fast a touchable figure follows a hand, as the browser sees it: to picture, verdict and table on the screen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.browser.lab import Notebook

GRIPS = {
    "linearity": "tolerance, ± %",
    "band_response": "flat part, ± %",
    "sensor_alone": "tolerance, ± %",
    "gap_curve": "increments, ± %",
}
"""Of each panel the limit by which the channel of its notebook comes to fail, or fails."""

_FOLLOW = """
  const panel = document.querySelector('.vibcal-touch'), figure = panel.querySelector('.figure');
  const grip = [...panel.querySelectorAll('.grip[tabindex]')].find((item) => item.getAttribute('aria-label') === label);
  const seen = {answers: 0, last: 0, waiting: 0};
  const apart = '.reasons, .tip, .unseen, .guide';  // what follows later, or is no answer
  new MutationObserver((changes) => {
    const told = changes.filter((change) => !(change.target.closest ?? (() => null)).call(change.target, apart)
      && !change.target.parentElement?.closest(apart) && change.attributeName !== 'class');
    if (!told.length) return;
    seen.waiting++;
    requestAnimationFrame(() => { seen.last = performance.now(); seen.waiting--; seen.answers++; });
  }).observe(panel, {attributes: true, childList: true, characterData: true, subtree: true});
  const pause = (milliseconds) => new Promise((resolve) => setTimeout(resolve, milliseconds));
  const quiet = async (started, rest = 250) => {
    while (performance.now() < started + 8000) {
      await pause(20);
      const now = performance.now(), changed = seen.last > started;
      if (!seen.waiting && now - (changed ? seen.last : started) > (changed ? rest : 2000)) break;
    }
    return seen.last > started ? seen.last - started : null;
  };
  const press = (element, key) => element.dispatchEvent(
    new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true}));
  const point = (kind, x, y) => figure.dispatchEvent(new PointerEvent(kind, {clientX: x, clientY: y, button: 0,
    pointerId: 1, pointerType: 'mouse', bubbles: true, cancelable: true}));
  const middle = (element) => { const box = element.getBoundingClientRect();
    return [box.left + box.width / 2, box.top + box.height / 2]; };
  const readings = () => [...panel.querySelectorAll('.reading[role=checkbox]')];
"""
_MOVE = f"""async ([label, how, moves]) => {{ {_FOLLOW}
  const undo = panel.querySelector('.tools button');
  const steps = {{
    'key': (i) => press(grip, i % 20 < 10 ? 'ArrowDown' : 'ArrowUp'),
    'space': (i) => press(readings()[i % readings().length], ' '),
    'click': (i) => {{ const at = middle(readings()[i % readings().length]);
      point('pointerdown', ...at); point('pointerup', ...at); }},
  }};
  const times = [];
  for (let i = 0; i < moves; i++) {{
    const started = performance.now();
    steps[how](i);
    times.push(await quiet(started));
    if (how === 'key') continue;
    const back = performance.now();
    undo.click();
    await quiet(back);
  }}
  return times;
}}"""
_DRAG = f"""async ([label, events]) => {{ {_FOLLOW}
  figure.setPointerCapture = () => {{}};  // there is no pointer behind these events
  const [x, y] = middle(grip), handle = grip.querySelector('.handle'), begun = performance.now();
  handle.dispatchEvent(new PointerEvent('pointerdown', {{clientX: x, clientY: y, button: 0, pointerId: 1,
    pointerType: 'mouse', bubbles: true, cancelable: true}}));
  let at = y;
  for (let i = 0; i < events; i++) {{
    await pause(Math.max(0, begun + i * 1000 / 60 - performance.now()));
    at = y + 40 * Math.sin(i / 19) + i / 12;
    point('pointermove', x, at);
  }}
  point('pointerup', x, at);
  const released = performance.now(), answers = seen.answers, late = await quiet(released, 1000);
  const shown = () => figure.querySelector('.under').innerHTML + panel.querySelector('.readings tbody').innerHTML
    + panel.querySelector('.headline').textContent;
  const last = shown(), value = grip.getAttribute('aria-valuetext');
  const undo = [...panel.querySelectorAll('.tools button')];
  for (const step of [0, 1]) {{ const began = performance.now(); undo[step].click(); await quiet(began, 600); }}
  return {{seconds: (released - begun) / 1000, drawn: answers, late, same: last === shown(), value}};
}}"""


@dataclass(frozen=True)
class Moves:
    """Single moves: ms from each to the frame in which all that it changes stands; None where nothing changed."""

    times: tuple[float | None, ...]

    def __str__(self) -> str:
        seen = np.array([time for time in self.times if time is not None])
        if not seen.size:
            return f"{len(self.times)} moves changed nothing"
        median, late = np.quantile(seen, (0.5, 0.95))
        without = len(self.times) - seen.size
        text = f"{seen.size} moves: median {median:.0f} ms, 95th percentile {late:.0f} ms"
        return text + (f"; {without} moves changed nothing" if without else "")


@dataclass(frozen=True)
class Drag:
    """A drag at 60 events a second; ``same``: the last picture is the one that its value gives when drawn alone."""

    events: int
    seconds: float
    drawn: int
    late: float
    same: bool
    value: str

    def __str__(self) -> str:
        alike = "the same as" if self.same else "ANOTHER THAN"
        return (
            f"{self.events} events in {self.seconds:.1f} s: {self.drawn} changes of the screen, the last "
            f"{self.late:.0f} ms after release, {alike} that of the last value drawn alone"
        )


def move(notebook: Notebook, how: str, count: int, *, warm_up: int = 5) -> Moves:
    """Touch the notebook's panel ``count`` times after ``warm_up`` times that are not counted.

    ``how``: ``key`` on a limit; ``space`` or ``click`` on a reading, which is undone before the next, uncounted.
    """
    times = notebook.page.evaluate(_MOVE, [GRIPS[notebook.name], how, warm_up + count])
    return Moves(tuple(times[warm_up:]))


def drag(notebook: Notebook, events: int) -> Drag:
    """Drag a limit to and fro, and let go."""
    seen = notebook.page.evaluate(_DRAG, [GRIPS[notebook.name], events])
    return Drag(events, seen["seconds"], seen["drawn"], seen["late"] or 0.0, seen["same"], seen["value"])


_FIRST = """async () => {
  const cells = window.jupyterapp.shell.currentWidget.content;
  const begun = performance.now();
  window.jupyterapp.commands.execute('notebook:run-cell');
  for (;;) {
    await new Promise((resolve) => requestAnimationFrame(resolve));
    if (document.querySelector('.vibcal-touch .figure .reading')) return performance.now() - begun;
    if (performance.now() > begun + 20000) return null;
  }
}"""


def first_picture(notebook: Notebook) -> float | None:
    """Run the last cell of a notebook anew; return ms until its picture stands."""
    notebook.page.evaluate(
        """async () => { const content = window.jupyterapp.shell.currentWidget.content;
        content.activeCellIndex = content.widgets.length - 1;
        await window.jupyterapp.commands.execute('notebook:clear-cell-output'); }"""
    )
    notebook.page.wait_for_selector(".vibcal-touch", state="detached")
    found = notebook.page.evaluate(_FIRST)
    return None if found is None else float(found)
