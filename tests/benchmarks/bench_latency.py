"""How fast a panel follows a control, measured in the browser: python -m tests.benchmarks.bench_latency [NAME ...].

For each panel: from the key press (or choice) to the frame in which everything that it changes, picture, verdict and
table, is on the screen; and a drag, key presses at 60 a second, whose last picture must be that of the last value.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

from tests.browser.lab import Notebook, running_browser, running_lab

MOVES = 40
WARM_UP = 5
PRESSES = 120
PANELS = {
    "linearity": ("key",),
    "band_response": ("key",),
    "sensor_alone": ("key",),
    "fault_finding": ("choose", "leave out"),
}
SLIDER = {"linearity": 0, "band_response": 0, "sensor_alone": 1, "fault_finding": 0}  # one that changes the picture
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
      if (!seen.waiting && now - (changed ? seen.last : started) > (changed ? rest : 1000)) break;
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


def main(names: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder, running_lab(Path(folder)) as address, running_browser() as new_page:
        for name in names or PANELS:
            notebook = Notebook(new_page(), address, name)
            notebook.run_all()
            notebook.to_panel()
            for how in PANELS[name]:
                _report_moves(f"{name}, {how}", notebook.page.evaluate(_MOVE, [SLIDER[name], how, MOVES]))
            if PANELS[name] == ("key",):
                _report_drag(name, notebook.page.evaluate(_DRAG, [SLIDER[name], PRESSES]))
            notebook.page.close()


def _report_moves(name: str, times: list[float | None]) -> None:
    """A move that changes nothing on the screen is counted and has no time."""
    seen = np.array([time for time in times[WARM_UP:] if time is not None])
    median, late = np.quantile(seen, (0.5, 0.95))
    without = len(times) - WARM_UP - seen.size
    print(f"{name:24} {seen.size} moves: median {median:.0f} ms, 95th percentile {late:.0f} ms", end="", flush=True)
    print(f"; {without} moves changed nothing" if without else "", flush=True)


def _report_drag(name: str, drag: dict) -> None:
    print(
        f"{name + ', drag':24} {PRESSES} presses in {drag['seconds']:.1f} s: {drag['drawn']} pictures, the last "
        f"{drag['late'] or 0.0:.0f} ms after release, {'the same as' if drag['same'] else 'ANOTHER THAN'} that of the "
        "last value drawn alone",
        flush=True,
    )


if __name__ == "__main__":
    main(sys.argv[1:])
