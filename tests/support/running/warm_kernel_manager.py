"""A kernel manager that asks for warm kernels, whatever the kernelspec and the environment say."""

from __future__ import annotations

from importlib.metadata import EntryPoint
from typing import Any

from jupyter_client.manager import AsyncKernelManager
from jupyter_client.provisioning import KernelProvisionerFactory

from vibcal_nb.running.kernels.provisioner import PROVISIONER, WarmKernelProvisioner


class WarmKernelManager(AsyncKernelManager):
    @property
    def kernel_spec(self) -> Any:
        """The kernelspec, with the provisioner of warm kernels in it."""
        value = f"{WarmKernelProvisioner.__module__}:{WarmKernelProvisioner.__name__}"
        entry = EntryPoint(name=PROVISIONER, value=value, group=KernelProvisionerFactory.GROUP_NAME)
        KernelProvisionerFactory.provisioners.setdefault(PROVISIONER, entry)
        spec = super().kernel_spec
        if spec is not None:
            spec.metadata["kernel_provisioner"] = {"provisioner_name": PROVISIONER, "config": {}}
        return spec
