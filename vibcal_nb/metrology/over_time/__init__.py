"""Trends, control charts, reliability and dates (NIST/SEMATECH, ILAC-G24:2022 / OIML D 10:2022)."""
