"""Mathematics of measurement from the documents; knows nothing of vibration, files, visits. Imports only `arrays`.

uncertainty     budgets, coverage, Monte Carlo            JCGM 100:2008, JCGM 101:2008
conformity      decision rules, probability, risk         JCGM 106:2012, ILAC-G8:09/2019, ANSI/NCSL Z540.3-2006
straight_line   lines, their tests, non-linearity         ISO/TS 28037:2010, ANSI/ISA-51.1-1979 (R1993)
sine            sines in sampled signals                  IEEE Std 1057-2017, ISO 16063-11
over_time       trend, control chart, reliability, date   NIST/SEMATECH 6.3.2.4, ILAC-G24:2022 / OIML D 10:2022
switching       level of action, votes                    JCGM 100:2008, 4.3.7
numerics        what the documents presuppose
unusable        the base of what cannot be used: the trade makes refusals of it
"""
