"""What-if controls where a person is at the notebook."""
