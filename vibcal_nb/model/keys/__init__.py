"""Every key of every input file, and every column of the reading table: the one place where they are described.

The readers of ``inputs`` validate from these tables and can read no key that stands in none; the reference of
keys, the files that ``new`` writes and the schemas for editors are made from them. Data only.

key               one key: type, unit, bounds, default, the words it may be, what it says; a table of keys
asset_keys        asset.toml: the machine and its rotors; kinds.toml
channel_keys      [channels.TAG]: the channel as a whole; kinds; restated limits
relay_keys        the display, set points with their relays, groups that vote, electrical health; inhibit and return
tolerance_keys    a tolerance in every form
item_keys         [channels.TAG.items]: the sensor, cable, converter and monitor that are installed
equipment_keys    equipment.toml
site_keys         site.toml: what a site states once for all its visits
visit_keys        visit.toml
layout_keys       [table] of visit.toml: a reading table that is laid out otherwise; a layout file
waveform_keys     waveforms/waveforms.toml
reading_columns   readings.csv or readings.xlsx, and what a prepared sheet adds
parts/            the band, the sensor, the phase, ... of a channel; references of equipment.toml
files             file name -> its tables; all tables in turn
"""
