"""From the output to the relay, shown.

electrical_plots   figure of electrical health
electrical_view    electrical health at rest
indication_view    what the monitor shows
service_words      how protection was taken out and brought back
set_point_plots    figure of set points
set_point_tables   tables of set points
set_points_view    set points driven through their relays
voting_plots       figure of votes
voting_view        the votes of a group
"""
