"""Numerical methods that the documents presuppose.

Fritsch and Butland (1984)   monotone interpolation            monotone_cubic.MonotoneCubic
V^(-1/2) of a sum of errors   readings that share errors        correlated_errors.CorrelatedErrors
Gauss-Legendre over panels   expectations of steps             quadrature.normal_expectation
Levenberg-Marquardt          many models at once               simultaneous_fits.fit_all
"""
