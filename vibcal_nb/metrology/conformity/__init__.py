"""Statements of conformity.

ILAC-G8:09/2019         4.2   decision rules, four words       decision.DecisionRule, decision.decide
JCGM 106:2012           7     probability of conformity        conformance_probability.conformity_of
                        7, 9.3 greatest risk of a pass         decision.most_risk_of_a_pass
                        7     many values at once              joint_conformity.joint_conformity
                        9.5   global risks                     risk.global_risk, risk.worst_consumer_risk
                        7.5   measurement capability C_m       risk.measurement_capability
ANSI/NCSL Z540.3-2006   5.3   test uncertainty ratio           risk.tur
                        handbook, method 6  guard band         risk.managed_guard_band
"""
