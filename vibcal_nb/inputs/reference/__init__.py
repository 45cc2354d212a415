"""References that are a table over frequency.

back_to_back      Levels that were written down as a reference's own output: its certificate turns them into levels
read_sensitivity  The sensitivity of a reference over frequency, from equipment.toml or its certificate's file
"""
