"""Statements of conformity: decision rules, probability, risk (JCGM 106:2012, ILAC-G8:09/2019)."""
