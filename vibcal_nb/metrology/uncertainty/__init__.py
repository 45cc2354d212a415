"""Uncertainty of measurement: budgets, coverage, Monte Carlo (JCGM 100:2008, JCGM 101:2008)."""
