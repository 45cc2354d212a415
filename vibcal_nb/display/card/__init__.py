"""The answer first: one card, the same in notebook, page and report.

card        The answer of a result on one card
card_parts  What the cards of all kinds are made of: judged quantities, and how far something is off in words
limit_bar   A small bar beside a judged number: where it is allowed to lie, where it lies, and its U
"""
