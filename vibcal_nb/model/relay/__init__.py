"""From the channel's output to the relay: what is stated of it, and the rows that show it.

check_rows        Rows that hold no output of a channel: a level held at a relay, a state of voting, an electrical value
electrical        Units of electrical health, and the limits of an item
safety_trail      How protection was inhibited and brought back on the day of a visit
set_points        A set point with its relay, a monitor's display, a group that votes
"""
