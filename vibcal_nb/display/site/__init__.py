"""A site in an answer, a map, tables and figures.

margin_plots    Figure of a site: every channel's margin to its nearest limit
site_answer     What fails now, why, and where its record is; what is overdue; how all stand
site_links      Links from the site's page to the pages of records
site_map        A strip a machine, a group a bearing in train order, a cell a channel
site_matrix     The matrix of a site, channel x test x verdict, for the page and the panel
site_style      The style sheet of answer, map and matrix
site_tables     Tables of a site besides the matrix: the count of channels, what to do, equipment
timeline_plots  Figure of a site over time: visits, due dates, certificates
"""
