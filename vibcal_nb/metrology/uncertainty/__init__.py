"""Uncertainty of measurement.

JCGM 100:2008  4.3     distributions and divisors           budget_line.BudgetLine
               5.1.3   contributions c_i u(x_i)             budget_line.BudgetLine.contribution
               5.1, 5.2 combined, with correlation          budget.Budget
               6.2, 6.3 expanded uncertainty, k             coverage.expand, coverage.coverage_factor
               G.4     Welch-Satterthwaite                  coverage.combine, budget.Budget
               7.2.6   how many digits are stated           coverage.rounded
               7.2     a quantity and its interval          estimate.Estimate
Birge 1932             chi-squared, widened covariance      fitness.Fitness
JCGM 200:2012  2.27    definitional uncertainty             definitional.expand_about_two
JCGM 101:2008  6.4     draws of the inputs                  draws.draw_inputs
               7       propagation, coverage intervals      monte_carlo.propagate, monte_carlo.shortest_interval
               7.9     adaptive number of trials            monte_carlo.propagate_adaptively
               8       validation of a budget               gum_validation.validate_gum
EA-4/02 M:2022 S9      one rectangle dominates a budget     dominant_rectangle.expand_budget
lack of fit, F test    a variance pooled from repeats       estimated_variance.chi_squared_quantile
"""
