"""Analyses performed on a visit's folder, and compared with a record.

channel      All tests of a channel, with as many earlier visits as a failed as-found asks for
differences  What differs between a record's entry and the same entry performed again, in words
history      A channel's history over the visits, read and analysed
perform      The analysis behind a record, performed again from the inputs
"""
