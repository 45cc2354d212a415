"""Drawing: figures, axes, marks, legends."""
