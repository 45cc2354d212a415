"""Straight lines and non-linearity (ISO/TS 28037:2010, ANSI/ISA-51.1-1979)."""
