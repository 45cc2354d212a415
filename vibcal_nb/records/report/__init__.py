"""The paper of a channel.

channel_report   The sheet of a channel: one concise PDF of a visit's results
report_answer    The answer on the first page: the verdict as found and as left, and what to do
report_content   What a calibration report holds after ISO/IEC 17025:2017, 7.8.2 and 7.8.4
report_data      What a channel's sheet shows, gathered from its results: plain texts, numbers as texts
report_figures   The figures: those of the whole channel, or else one a test
report_matrix    What was judged, as found and as left beside one another, and the set points likewise
report_template  The layout of a channel's sheet, in typst's language; what it shows is data and never read as markup
sealed_result    A result as its report takes it: with entry, seal and pictures of its record
visit_reports    The sheets of a visit's channels: which are due, and making them

Texts go to typst as data, never as markup; only bundled fonts are used (PDF/UA-1). A report's own sum stands in its
keywords, with zeros in its place when it is taken.
"""
