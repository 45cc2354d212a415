"""JupyterLab on loopback with a token, in folders of its own, and a browser that opens copies of the notebooks."""

from __future__ import annotations

import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
MISSING = (
    "No chromium was found: install it (Debian: apt-get install chromium), "
    "or leave these tests out with -m 'not browser'."
)


def find_browser() -> str:
    """Return the path of a chromium; raises RuntimeError with a sentence where there is none."""
    found = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if found is None:
        raise RuntimeError(MISSING)
    return found


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _copy_site(folder: Path) -> None:
    """Lab saves into what it opens, so that it gets copies."""
    for name in ("notebooks", "data_demo"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns(".ipynb_checkpoints"))


def _environment(folder: Path) -> dict[str, str]:
    names = ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTERLAB_SETTINGS_DIR", "JUPYTERLAB_WORKSPACES_DIR")
    own = {name: str(folder / name.lower()) for name in names}
    for path in own.values():
        Path(path).mkdir(parents=True)
    settings = Path(own["JUPYTERLAB_SETTINGS_DIR"]) / "@jupyterlab" / "apputils-extension"
    settings.mkdir(parents=True)
    (settings / "notification.jupyterlab-settings").write_text('{"fetchNews": "false"}', encoding="utf-8")
    return {**os.environ, **own, "PYTHONPATH": str(ROOT)}


@contextmanager
def running_lab(folder: Path) -> Iterator[str]:
    """Run JupyterLab on copies in ``folder`` and yield its address with ``{}`` for a path; it ends with the block."""
    _copy_site(folder / "root")
    port, token = _free_port(), secrets.token_hex(16)
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", f"--port={port}"]
    command += ["--ServerApp.ip=127.0.0.1", f"--IdentityProvider.token={token}", "--LabApp.expose_app_in_browser=True"]
    command += [f"--ServerApp.root_dir={folder / 'root'}", "--ServerApp.port_retries=0"]
    log = (folder / "lab.log").open("wb")
    server = subprocess.Popen(command, env=_environment(folder), stdout=log, stderr=subprocess.STDOUT)
    try:
        _await(f"http://127.0.0.1:{port}/api?token={token}", server)
        yield f"http://127.0.0.1:{port}/{{}}?token={token}&reset"
    finally:
        server.terminate()
        server.wait(timeout=30)
        log.close()


def _await(address: str, server: subprocess.Popen, *, seconds: float = 60.0) -> None:
    give_up = time.monotonic() + seconds
    while True:
        try:
            with urllib.request.urlopen(address, timeout=5):
                return
        except (urllib.error.URLError, OSError):
            if server.poll() is not None or time.monotonic() > give_up:
                raise RuntimeError("JupyterLab did not start; see lab.log in the test's folder.") from None
            time.sleep(0.2)


class Notebook:
    """One notebook open in the browser; ``errors`` are what the console reported."""

    def __init__(self, page: Any, address: str, name: str) -> None:
        self.page, self.name = page, name
        self.errors: list[str] = []
        page.on("console", lambda message: self.errors.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.goto(address.format(f"lab/tree/notebooks/{name}.ipynb"))
        page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=60_000)
        page.wait_for_function("window.jupyterapp !== undefined")
        page.set_default_timeout(60_000)
        page.wait_for_function(f"{_STATUS} === 'idle'")

    def start_all(self) -> None:
        """Clear what is stored, so that nothing old passes for new, and start running every cell."""
        self.page.evaluate("() => { window.jupyterapp.commands.execute('notebook:clear-all-cell-outputs'); }")
        self.page.wait_for_function(f"({_COUNTS})().run === 0")
        self.page.evaluate("() => { window.jupyterapp.commands.execute('notebook:run-all-cells'); }")

    def run_all(self) -> None:
        """Run every cell and wait until the kernel rests."""
        self.start_all()
        self.page.wait_for_function(_ALL_RUN, timeout=90_000)
        self.page.keyboard.press("Escape")

    def counts(self) -> dict[str, int]:
        """How many code cells there are, how many ran, how many show an error."""
        return self.page.evaluate(_COUNTS)

    def to_panel(self) -> Any:
        """Scroll to the what-if panel at the end and return its locator."""
        panel = self.page.locator(".vibcal-touch").first
        self.page.wait_for_function(_IN_SIGHT.replace("TO_END", _TO_END))
        panel.locator(".figure .reading").first.wait_for(timeout=60_000)
        return panel


_MODEL = "window.jupyterapp.shell.currentWidget.content.model.cells"
_STATUS = "window.jupyterapp.shell.currentWidget.sessionContext.session?.kernel?.status"
_ALL_RUN = f"""() => {{
  const cells = Array.from({{length: {_MODEL}.length}}, (_, i) => {_MODEL}.get(i)).filter(c => c.type === 'code');
  return {_STATUS} === 'idle' && cells.every(c => c.executionCount !== null);
}}"""
_COUNTS = f"""() => {{
  const cells = Array.from({{length: {_MODEL}.length}}, (_, i) => {_MODEL}.get(i)).filter(c => c.type === 'code');
  const failed = c => c.toJSON().outputs.some(o => o.output_type === 'error');
  const ran = cells.filter(c => c.executionCount !== null);
  return {{code: cells.length, run: ran.length, failed: cells.filter(failed).length}};
}}"""
_TO_END = """() => {
  const outer = document.querySelector('.jp-WindowedPanel-outer') || document.querySelector('.jp-Notebook');
  outer.scrollTop = outer.scrollHeight;
}"""

_IN_SIGHT = """() => { (TO_END)();
  const box = document.querySelector('.vibcal-touch .figure .reading')?.getBoundingClientRect();
  return Boolean(box && box.width);
}"""


@contextmanager
def running_browser() -> Iterator[Callable[..., Any]]:
    """Run a chromium and yield a function that opens a new page of it; it takes what a new page may be told."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_browser(), args=["--no-sandbox"])
        try:
            yield lambda **look: browser.new_page(**{"viewport": {"width": 1500, "height": 1100}, **look})
        finally:
            browser.close()
