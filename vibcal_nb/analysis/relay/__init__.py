"""From the channel's output to the relay: what is shown, where it acts, how a group votes, what it reads at rest.

approaches     The rows of one set point by approach: from which side the level came, what the relay did
check_gates    The gates of tests that read no output, and what their verdicts leave out
delays         Delays from the level being exceeded to the relay
electrical     Electrical health at rest, each item against the channel's limits
indication     What the monitor shows against the true level: a line of its own
known_level    How well the level at a set point is known
planned_checks What to try: the approach to each set point, the states of a vote, electrical items
set_points     Set points driven through their relays: where each acts
visit_gates    The gates that a visit's files show by themselves, before anything is analysed
voting         A group that votes: the states that were tried, compared with its logic

A set point is *proved* where its relay did not act at a level and acted beyond it: nothing else proves it. What the
electrical output shows of a set point stays *demonstrated*, for it says nothing of the relay.
"""
