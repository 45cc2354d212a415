"""From the output to the relay, as records know it.

electrical_quantities   electrical health at rest
indication_quantities   what the monitor shows
set_points_quantities   set points driven through their relays
voting_quantities       the votes of a group
"""
