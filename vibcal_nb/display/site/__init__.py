"""A site in tables and a figure.

margin_plots  Figure of a site: every channel's margin to its nearest limit
site_matrix   The matrix of a site, channel x test x verdict, for the page and the panel
site_tables   Tables of a site besides the matrix: the count of channels, what to do, equipment
"""
