"""The mathematics: knows no file, no plot, no widget, no clock, no global random state."""
