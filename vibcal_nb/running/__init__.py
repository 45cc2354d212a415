"""Notebooks times channels to records, from the command line.

commands/  The command line
fleet/     Notebooks times channels to records
kernels/   Warm processes in which notebooks are executed
verify/    Whether a record is intact and performs again
"""
