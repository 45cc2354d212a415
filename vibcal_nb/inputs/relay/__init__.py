"""From the output to the relay, as it is written down.

check_row           a row of set-point, voting or electrical: each cell checked
read_safety_trail   inhibit and return to service, of visit.toml
"""
