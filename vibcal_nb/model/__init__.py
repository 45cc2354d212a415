"""What a person states about a site, frozen: asset, channel, equipment, visit, reading, case.

asset              An asset: its rotors, and what each of its vibration channels should do
band_requirements  The limits of a band response that hold at single frequencies: at the corners
case               One question put to one channel: its readings of one test in one condition
channel_case       One channel in one condition with all its tests: what a verdict on the whole channel is made from
current_loop       Currents of a 4 to 20 mA loop: which are measurement
dated_asset        An asset over the years: limits restated from a date on, items exchanged, names that changed
equipment          The equipment of a site: references, readouts and shakers, with their certificates' figures
items              The items a channel is made of: which were installed, and since when
layout             How a table that is laid out otherwise becomes readings
names              The names that files, records and the command line use: tests, analyses, conditions
readings           The reading table: every reading of a visit, checked against what the asset's channels should be
tolerance          A tolerance as the trade writes it: a part of the reading, of the span, an amount
visit              A visit: who, when, with what equipment, under which decision rule
visit_folder       What an asset's and a visit's folder say, read and validated
common_kinds/      Kinds of channel that plants commonly have, to start from
reference/         References that are a table over frequency
site/              What a site states of itself, once for all its visits
relay/             From the output to the relay: set points, display, voting, electrical health, return to service
keys/              Every key of every input file, and every column of the reading table
"""
