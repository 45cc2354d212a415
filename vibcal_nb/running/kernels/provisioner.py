"""Kernels that start in a few milliseconds, forked from a process which has this package's imports loaded.

A provisioner of jupyter_client (entry point `vibcal-nb-warm`), for papermill, JupyterLab, or whatever else starts
kernels: name it in a kernelspec, or in the environment variable JUPYTER_DEFAULT_PROVISIONER_NAME. Each kernel is
a process of its own with a namespace of its own. On other systems than Linux, and whenever something is in the
way, the ordinary kernel is started instead, and the log says why.
"""

from __future__ import annotations

import logging
import sys
from pathlib import Path
from typing import Any

from jupyter_client.connect import KernelConnectionInfo
from jupyter_client.provisioning import LocalProvisioner

from vibcal_nb.running.kernels.template_client import WarmKernelFailed, WarmProcess, current_platform, fork_kernel

PROVISIONER = "vibcal-nb-warm"
KILL_SECONDS = 5.0
LOG = logging.getLogger(__name__)
_said: set[str] = set()


class WarmKernelProvisioner(LocalProvisioner):
    """Fork the kernel from the template process; everything else is as for an ordinary local kernel."""

    process: Any = None

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> KernelConnectionInfo:
        """Start the kernel that ``cmd`` would start, warm where possible."""
        try:
            arguments = _kernel_arguments(cmd)
            cwd = str(kwargs.get("cwd") or Path.cwd())
            self.process = fork_kernel(arguments, env=dict(kwargs["env"]), cwd=cwd)
        except (WarmKernelFailed, OSError) as reason:
            note_ordinary(str(reason))
            return await super().launch_kernel(cmd, **kwargs)
        self.pid = self.process.pid
        self.pgid = None  # the process sends signals to its group itself, once it is sure that it lives
        self.cwd = Path(cwd)
        return self.connection_info

    async def kill(self, restart: bool = False) -> None:
        """Kill the kernel and wait until it is gone, which takes milliseconds; who asks would look every 0.1 s."""
        await super().kill(restart=restart)
        if isinstance(self.process, WarmProcess):
            await self.process.ended(KILL_SECONDS)


def _kernel_arguments(cmd: list[str]) -> list[str]:
    """Return the arguments of the kernel; raise where it is not the interpreter or program the template is."""
    if Path(cmd[0]) != Path(sys.executable) or cmd[1:3] != ["-m", "ipykernel_launcher"]:
        raise WarmKernelFailed("this kernel is not started by this Python's ipykernel")
    return ["ipykernel_launcher", "--InteractiveShellApp.ignore_cwd=True", *cmd[3:]]


def note_ordinary(reason: str) -> None:
    """Log, once for each reason, that ordinary kernels are used."""
    if reason not in _said:
        _said.add(reason)
        level = logging.WARNING if current_platform() == "linux" else logging.INFO
        LOG.log(level, "Ordinary kernels are used, which takes longer: %s.", reason)
