"""The paper of a channel.

annex            Every number of a result, digit for digit as ``results.json`` holds it, laid out as compact tables
channel_report   The sheet of a channel: one concise PDF of a visit's results
report_content   What a calibration report holds after ISO/IEC 17025:2017, 7.8.2 and 7.8.4
report_data      What a channel's sheet shows, gathered from its results: plain texts, numbers as texts
report_template  The layout of a channel's sheet, in typst's language; what it shows is data and never read as markup
report_tests     A channel's tests on its sheet: figure and numbers of each, as found and as left beside one another
visit_reports    The sheets of a visit's channels: which are due, and making them

Texts go to typst as data, never as markup; only bundled fonts are used (PDF/UA-1). A report's own sum stands in its
keywords, with zeros in its place when it is taken.
"""
