"""How fast a what-if panel follows a slider, measured in the browser: python -m tests.benchmarks.bench_latency.

From the key press to the frame in which the new picture is on the screen, for each standard notebook.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

from tests.browser.lab import Notebook, running_browser, running_lab

MOVES = 60
_MEASURE = """async ([moves]) => {
  const handle = document.activeElement;
  const image = document.querySelector('.jp-OutputArea-output .widget-image');
  const times = [];
  for (let i = 0; i < moves; i++) {
    const key = i % 20 < 10 ? 'ArrowLeft' : 'ArrowRight';
    const shown = new Promise(resolve => {
      const observer = new MutationObserver(async () => {
        observer.disconnect();
        await image.decode();
        requestAnimationFrame(() => resolve(performance.now()));
      });
      observer.observe(image, {attributes: true, attributeFilter: ['src']});
    });
    const started = performance.now();
    handle.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true}));
    times.push(await shown - started);
    await new Promise(resolve => setTimeout(resolve, 150));
  }
  return times;
}"""


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, running_lab(Path(folder)) as address, running_browser() as new_page:
        for name in ("linearity", "band_response", "sensor_alone"):
            notebook = Notebook(new_page(), address, name)
            notebook.run_all()
            panel = notebook.to_panel()
            panel.locator(".widget-hslider .noUi-handle").first.focus()
            times = np.array(notebook.page.evaluate(_MEASURE, [MOVES]))[5:]
            median, late = np.quantile(times, (0.5, 0.95))
            print(f"{name:14} {times.size} moves: median {median:.0f} ms, 95th percentile {late:.0f} ms", flush=True)
            notebook.page.close()


if __name__ == "__main__":
    main()
