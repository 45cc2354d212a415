"""What switches: the level at which it acts, and logic that counts votes.

JCGM 100:2008, 4.3.7 (a value anywhere between two limits)        level_of_action
closed form, m out of n                                            voting_logic
"""
