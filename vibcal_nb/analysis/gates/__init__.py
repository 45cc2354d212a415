"""What keeps a pass from being said, whatever the readings say: looked at in one place, for every test.

equipment_gates    No reference, no readout, a certificate that had run out or came later, frequencies outside it
gate               A gate: its name, what was found, what to do
gates              All gates of a test, and the verdict that they leave
left_out           Readings that are excluded or not yet taken, and what the verdict would be with them
line_gates         Levels too close together for a line, a rotor at whose speed nothing was read
service_gate       Protection that was inhibited and is not proved back in service
uncertainty_share  How much of a tolerance its uncertainty takes

A gate makes *not verified* of a pass; a shown failure stays one. Sources: ISO/IEC 17025:2017, 6.5 and 7.6 (traceability
and uncertainty); JCGM 106:2012, 8.2 (simple acceptance presupposes an uncertainty that was agreed to be small enough).
"""
