"""What values do over the years.

NIST/SEMATECH e-Handbook 6.3.2.4   EWMA chart                  ewma.chart_ewma
ILAC-G24:2022 / OIML D 10:2022     reliability of like items   reliability.estimate_reliability
generalised least squares          trend with breaks           trend.fit_trend
JCGM 106:2012, 7                   date of leaving tolerance   conformity_date.find_conformity_date
"""
