"""asset.toml and kinds.toml -> the asset over the years.

read_asset             the machine, its rotors, its channels
read_kinds             kinds.toml, and [kinds.NAME] of an asset: what several channels share
read_dated_channel     a channel by layers: its kind, its own keys, what was restated from a date on; its items
restated               layers by date: what a kind or a channel states, and restates from a date on
read_channel           one state of a channel: its limits as a whole, of its band, sensor and module
read_items             the sensor, cable, converter and monitor that were installed, and when
read_relays            the display, set points with their relays, limits of electrical health
read_phase             the phase of a channel, and of its sensor alone
read_groups            channels that vote
read_tolerance         tolerances in every form, and that of the live zero
contradictory_limits   limits of a band that no reading could meet together
"""
