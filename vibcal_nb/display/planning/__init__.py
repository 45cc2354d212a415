"""A plan in figures.

plan_plots  Figure of a plan: what the shaker reaches over frequency, what is planned, and what stays out of reach
plan_tables  A plan as tables: its points, and what stays out of reach
"""
