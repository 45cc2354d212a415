"""Mathematics of measurement from the documents; knows nothing of vibration, files, visits."""
