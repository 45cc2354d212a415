"""The whole channel: its tests together, its alarm reach, which part is off."""
