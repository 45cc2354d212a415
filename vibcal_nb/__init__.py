"""Analysis workbooks for the calibration of vibration channels."""
