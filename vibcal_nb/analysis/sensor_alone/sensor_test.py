"""The name by which others refer to a result of the sensor alone."""

from __future__ import annotations

from vibcal_nb.analysis.sensor_alone.sensor_alone import SensorAloneResult as SensorTest

__all__ = ["SensorTest"]
