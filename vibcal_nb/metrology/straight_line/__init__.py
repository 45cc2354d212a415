"""Straight lines and how far readings depart from them.

ISO/TS 28037:2010   6       u in y only                        straight_line.fit_straight_line
                    7       u in x and y                       straight_line.fit_straight_line
                    9, 10   covariances of y, of x and y       straight_line.fit_straight_line_covariance
                    6.3, 7.3 chi-squared test of the model     straight_line.chi_squared_test
                    11.1    inverse evaluation                 straight_line.inverse_evaluate
                    11.2    forward evaluation                 straight_line.forward_evaluate
                    annex E u unknown                          straight_line.fit_straight_line without u_y
ANSI/ISA-51.1-1979 (R1993)  kinds of linearity                 nonlinearity.nonlinearity
API 670 (from memory)       deviation from a stated slope      stated_slope.line_of_stated_slope
NIST StRD NoInt1            line through zero                  straight_line.fit_line_through_zero

bent_line       a line with the bends that are permitted, beyond its readings
line_points     points and uncertainties, checked before a line is drawn
line_equations  the least-squares equations, centred and scaled
fitted_line     a fitted line and what it was made from
"""
