"""What every kind of result shows: statements, tables, figures, verdicts."""
