"""How fast a panel follows a control, as the browser sees it: from a key press to picture, verdict and table."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.browser.lab import Notebook

SLIDERS = {"linearity": 0, "band_response": 0, "sensor_alone": 1}
"""Of each panel the slider that changes the picture, and by which the notebooks' own channel loses its pass."""

_FOLLOW = """
  const panel = Array.from(document.querySelectorAll('.jp-OutputArea-output .widget-hbox')).find(
    box => box.querySelector('.widget-image'));
  const image = panel.querySelector('.widget-image');
  const seen = {pictures: 0, last: 0, waiting: 0};
  const drawn = () => requestAnimationFrame(() => { seen.last = performance.now(); seen.waiting--; });
  new MutationObserver(changes => {
    const pictures = changes.filter(change => change.target === image && change.attributeName === 'src').length;
    seen.pictures += pictures;
    seen.waiting++;
    pictures ? image.decode().then(drawn, drawn) : drawn();
  }).observe(image.closest('.widget-vbox'), {
    attributes: true, attributeFilter: ['src'], childList: true, characterData: true, subtree: true});
  const pause = milliseconds => new Promise(resolve => setTimeout(resolve, milliseconds));
  const quiet = async (started, rest = 250) => {
    while (performance.now() < started + 5000) {
      await pause(20);
      const now = performance.now(), changed = seen.last > started;
      if (!seen.waiting && now - (changed ? seen.last : started) > (changed ? rest : 4000)) break;
    }
    return seen.last > started ? seen.last - started : null;
  };
  const bytes = async () => new Uint8Array(await (await fetch(image.src)).arrayBuffer()).join();
  const handle = panel.querySelectorAll('.widget-hslider')[slider]?.querySelector('.noUi-handle');
  const press = key => handle.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true}));
  const changed = element => element.dispatchEvent(new Event('change', {bubbles: true}));
"""
_STEPS = """
  const lists = panel.querySelectorAll('select:not([multiple])'), readings = panel.querySelector('select[multiple]');
  const steps = {
    'key': i => press(i % 20 < 10 ? 'ArrowLeft' : 'ArrowRight'),
    'choose': i => { lists[1].selectedIndex = (i + 1) % 4; changed(lists[1]); },
    'leave out': i => { const one = readings.options[i >> 1]; one.selected = !one.selected; changed(readings); },
  };
"""
_MOVE = f"""async ([slider, how, moves]) => {{ {_FOLLOW} {_STEPS}
  const times = [];
  for (let i = 0; i < moves; i++) {{
    const started = performance.now();
    steps[how](i);
    times.push(await quiet(started));
  }}
  return times;
}}"""
_DRAG = f"""async ([slider, presses]) => {{ {_FOLLOW}
  const begun = performance.now();
  for (let i = 0; i < presses; i++) {{
    await pause(Math.max(0, begun + i * 1000 / 60 - performance.now()));
    press(Math.floor(i / 40) % 2 ? 'ArrowRight' : 'ArrowLeft');
  }}
  const released = performance.now();
  const late = await quiet(released, 1000), all = seen.pictures, last = await bytes();
  for (const key of ['ArrowRight', 'ArrowLeft']) {{ const at = performance.now(); press(key); await quiet(at, 1000); }}
  return {{seconds: (released - begun) / 1000, drawn: all, late, same: last === await bytes()}};
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
    """Key presses at 60 a second; ``same``: the last picture is the one that its value gives when drawn alone."""

    presses: int
    seconds: float
    drawn: int
    late: float
    same: bool

    def __str__(self) -> str:
        alike = "the same as" if self.same else "ANOTHER THAN"
        return (
            f"{self.presses} presses in {self.seconds:.1f} s: {self.drawn} pictures, the last {self.late:.0f} ms after "
            f"release, {alike} that of the last value drawn alone"
        )


def move(notebook: Notebook, slider: int, how: str, count: int, *, warm_up: int = 5) -> Moves:
    """Move a control of the notebook's panel ``count`` times after ``warm_up`` moves that are not counted."""
    times = notebook.page.evaluate(_MOVE, [slider, how, warm_up + count])
    return Moves(tuple(times[warm_up:]))


def drag(notebook: Notebook, slider: int, presses: int) -> Drag:
    """Hold a slider's keys down, to and fro, and let go."""
    seen = notebook.page.evaluate(_DRAG, [slider, presses])
    return Drag(presses, seen["seconds"], seen["drawn"], seen["late"] or 0.0, seen["same"])
