"""Warm kernels: as isolated as ordinary ones, the same record, and the ordinary kernel wherever something is amiss."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import socket
import subprocess
import sys
import time
from importlib.metadata import EntryPoint

import nbformat
import papermill
import pytest
from jupyter_client.manager import AsyncKernelManager
from nbclient import NotebookClient

from tests.support.kept.same_record import timeless
from tests.support.places import ROOT
from tests.support.running.warm_kernel import is_running
from tests.support.running.warm_kernel_manager import WarmKernelManager
from vibcal_nb.running.kernels import (
    provisioner as warm_kernel,
)
from vibcal_nb.running.kernels import (
    template_client as template_process,
)
from vibcal_nb.running.kernels import (
    template_server as kernel_template,
)
from vibcal_nb.running.kernels.provisioner import PROVISIONER
from vibcal_nb.running.kernels.template_client import TemplateProcess, WarmProcess

linux_only = pytest.mark.skipif(sys.platform != "linux", reason="warm kernels need Linux")
pytestmark = pytest.mark.filterwarnings("default")  # what jupyter_client and ipykernel warn of is not ours


def execute(*sources, manager=WarmKernelManager):
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(source) for source in sources])
    NotebookClient(notebook, kernel_manager_class=manager, shutdown_kernel="immediate", timeout=120).execute()
    return notebook


def said(notebook, number=-1):
    (output,) = notebook.cells[number].outputs
    return eval(output["data"]["text/plain"])


@linux_only
def test_every_kernel_is_a_fresh_process_of_its_own():
    source = "import os, random, numpy; (os.getpid(), os.getppid(), random.random(), numpy.random.rand())"
    one, other = said(execute(source)), said(execute(source))
    assert one[1] == other[1]  # forked from one template
    assert one[0] != other[0]
    assert one[2:] != other[2:]
    assert said(execute("left_over = 1", "'left_over' in globals()")) is True
    assert said(execute("'left_over' in globals()")) is False


@linux_only
def test_only_what_a_record_uses_is_loaded():
    heavy = ("ipywidgets", "distributed", "dask", "typst", "openpyxl", "pandas", "scipy.stats", "papermill")
    loaded = said(execute(f"import sys; [name for name in {heavy!r} if name in sys.modules]"))
    assert loaded == []
    assert said(execute("import sys; 'matplotlib.figure' in sys.modules")) is True


@linux_only
def test_subprocesses_plots_and_prints_work_as_in_an_ordinary_kernel():
    sources = (
        "import subprocess, sys; subprocess.run([sys.executable, '-c', 'raise SystemExit(3)']).returncode",
        "import matplotlib.pyplot as plt; plt.plot([1, 2]); plt.show()",
        "import os; os.system('echo from the shell'); print('from Python')",
        "import sys; ('-f' in sys.argv, os.getcwd())",
    )
    warm, ordinary = execute(*sources), execute(*sources, manager=AsyncKernelManager)
    kinds = [[sorted(o.get("data", {"text": 0})) for o in cell.outputs] for cell in warm.cells]
    assert kinds == [[sorted(o.get("data", {"text": 0})) for o in cell.outputs] for cell in ordinary.cells]
    assert said(warm, 0) == 3
    assert said(warm) == said(ordinary)


@linux_only
def test_a_warm_kernel_and_its_template_import_nothing_from_the_current_folder(tmp_path, monkeypatch):
    """A folder that came by mail may hold modules named as those of the standard library, or as an optional one."""
    for name in ("random", "colorsys", "fqdn"):
        (tmp_path / f"{name}.py").write_text(f"open({str(tmp_path / 'ran')!r}, 'a').write({name!r})", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    template_process.close_templates()
    warm = execute(
        "import sys, random, colorsys\ntry:\n    import fqdn\nexcept ImportError:\n    pass", "'' in sys.path"
    )
    assert said(warm) is False
    assert not (tmp_path / "ran").exists()


@linux_only
@pytest.mark.parametrize("name", ["linearity", "band_response", "sensor_alone"])
def test_records_of_warm_and_ordinary_kernels_are_equal(tmp_path, name):
    records = []
    for manager in (WarmKernelManager, AsyncKernelManager):
        parameters = {"visit_folder": "data_demo/STG-1/2026-05-19", "channel": "STG-1-V12", "condition": "as-found"}
        output = tmp_path / f"{manager.__name__}.ipynb"
        papermill.execute_notebook(
            ROOT / "notebooks" / f"{name}.ipynb",
            output,
            parameters=parameters,
            kernel_manager_class=manager,
            progress_bar=False,
        )
        records.append(timeless(output))
    assert records[0] == records[1]


@linux_only
def test_a_kernel_is_watched_signalled_and_killed():
    process = template_process.fork_kernel(["ipykernel_launcher"], env=dict(os.environ), cwd=str(ROOT))
    assert process.poll() is None
    with pytest.raises(subprocess.TimeoutExpired):
        process.wait(0.01)
    process.kill()
    assert process.wait(10) == 0
    process.kill()  # nothing is left to kill, and nothing else is hit


@linux_only
def test_a_kernel_is_gone_as_soon_as_it_was_killed():
    async def start_and_kill():
        manager = WarmKernelManager(kernel_name="python3")
        await manager.start_kernel()
        pid = manager.provisioner.pid
        await manager.shutdown_kernel(now=True)
        return pid

    assert not is_running(asyncio.run(start_and_kill()))


@linux_only
def test_nothing_is_imported_after_the_fork():
    """Whatever a record needs is loaded once, in the template: the parts of IPython too that start with a kernel."""
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys; from vibcal_nb.running.kernels.template_server import load_imports as l; l();"
            "print(*sys.modules)",
        ],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
        cwd=ROOT,
    )
    cells = ["import sys"]
    for cell in nbformat.read(ROOT / "notebooks" / "band_response.ipynb", as_version=4).cells:
        if cell.cell_type == "code":
            cells.append(cell.source)
        if cell.id == "parameters":
            cells.append("visit_folder = 'data_demo/STG-1/2026-05-19'")
    loaded = said(execute(*cells, "' '.join(sys.modules)")).split()
    assert sorted(set(loaded) - set(done.stdout.split())) == []


@linux_only
def test_kernels_end_with_a_runner_that_is_killed():
    code = (
        "import os; from vibcal_nb.running.kernels.template_client import fork_kernel;"
        "p = fork_kernel(['ipykernel_launcher'], env=dict(os.environ), cwd='.');"
        "print(p.pid, flush=True); import time; time.sleep(600)"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, cwd=ROOT) as runner:
        kernel = int(runner.stdout.readline())
        wait_until(lambda: os.getsid(kernel) == kernel)
        os.kill(kernel, signal.SIGSTOP)  # a kernel that is hung for good
        runner.kill()
    wait_until(lambda: not is_running(kernel))


def wait_until(condition) -> None:
    deadline = time.monotonic() + 20
    while not condition():
        assert time.monotonic() < deadline
        time.sleep(0.05)


@linux_only
def test_a_template_that_is_retired_ends_after_its_kernels():
    template = TemplateProcess(dict(os.environ))
    kernel = template.fork({"arguments": ["ipykernel_launcher"], "env": dict(os.environ), "cwd": str(ROOT)})
    template.retire()
    time.sleep(0.2)
    assert template._process.poll() is None
    kernel.kill()
    assert template._process.wait(10) == 0
    template.close()


@linux_only
def test_a_kernel_whose_end_was_seen_already_does_not_end_the_template(monkeypatch):
    """The handler of SIGCHLD may wait for a kernel in the very moment in which the loop would."""
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    no_child_of_ours = 1
    monkeypatch.setattr(kernel_template.os, "fork", lambda: no_child_of_ours)
    handler = signal.getsignal(signal.SIGCHLD)
    with ours, theirs:
        ours.send(b"{}")
        ours.shutdown(socket.SHUT_WR)
        try:
            assert kernel_template.serve(theirs) is None
        finally:
            signal.signal(signal.SIGCHLD, handler)
        message, (descriptor,), _, _ = socket.recv_fds(ours, 64, 1)
        os.close(descriptor)
    assert int(message) == no_child_of_ours


@linux_only
def test_a_changed_environment_gets_a_template_of_its_own(monkeypatch):
    class Started:
        def __init__(self, env):
            self.env, self.retired = env, False

        def retire(self):
            self.retired = True

    monkeypatch.setattr(template_process, "TemplateProcess", Started)
    templates = template_process._Templates()
    first = templates.get({"A": "1"})
    assert templates.get({"A": "1", "JPY_SESSION_NAME": "x.ipynb"}) is first
    assert not first.retired
    assert templates.get({"A": "2"}) is not first
    assert first.retired


@pytest.mark.parametrize(("platform", "level"), [("darwin", logging.INFO), ("win32", logging.INFO)])
def test_elsewhere_the_ordinary_kernel_with_a_note(monkeypatch, caplog, platform, level):
    monkeypatch.setattr(warm_kernel, "_said", set())
    monkeypatch.setattr(template_process, "current_platform", lambda: platform)
    monkeypatch.setattr(warm_kernel, "current_platform", lambda: platform)
    caplog.set_level(logging.INFO, logger="vibcal_nb")
    assert said(execute("2 + 2")) == 4
    assert said(execute("2 + 3")) == 5
    (note,) = [record for record in caplog.records if record.name == "vibcal_nb.running.kernels.provisioner"]
    assert note.levelno == level
    assert note.getMessage() == "Ordinary kernels are used, which takes longer: warm kernels need Linux."


@linux_only
def test_a_template_that_does_not_start_means_the_ordinary_kernel(monkeypatch, caplog):
    monkeypatch.setattr(warm_kernel, "_said", set())
    template_process.close_templates()
    monkeypatch.setattr(template_process, "_CODE", "raise SystemExit(1)")
    assert said(execute("2 + 2")) == 4
    assert "the template process did not start: it ended while importing" in caplog.text


@linux_only
def test_a_template_that_has_died_is_replaced(caplog):
    execute("0")
    template = template_process._templates.current
    template._process.kill()
    template._process.wait()
    assert said(execute("2 + 2")) == 4
    assert not isinstance(template_process._templates.current, type(None)) or "Ordinary kernels" in caplog.text
    execute("0")
    assert template_process._templates.current is not template


def test_the_provisioner_is_registered_for_jupyter(tmp_path):
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    (name,) = project["entry-points"]["jupyter_client.kernel_provisioners"]
    value = project["entry-points"]["jupyter_client.kernel_provisioners"][name]
    assert name == PROVISIONER
    loaded = EntryPoint(name=name, value=value, group="jupyter_client.kernel_provisioners").load()
    assert loaded is warm_kernel.WarmKernelProvisioner


@linux_only
def test_the_kernel_that_runs_is_a_forked_one():
    manager = WarmKernelManager(kernel_name="python3")
    client = NotebookClient(nbformat.v4.new_notebook(), km=manager, kernel_name="python3")
    with client.setup_kernel(cleanup_kc=True):
        assert isinstance(manager.provisioner.process, WarmProcess)
