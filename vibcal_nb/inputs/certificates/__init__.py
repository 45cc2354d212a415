"""Digital Calibration Certificates read: the open XML schema of a metrology institute, versions 2.4 to 3.3.

certificate        What a certificate says, frozen: who, what, when, quantities, statements
dsi_units          Units as the Digital System of Units writes them: to SI and back
languages          The codes of languages and countries that the rules know
numbers            Numbers as the schema writes them, and lists of them
quantities         The quantities of a certificate: lists, rows, polar pairs, hybrids
read_certificate   A file read into what it says
reference_certificate  A reference's certificate held against its entry in equipment.toml
rules              What no schema checks: list lengths, units, languages, dates, references
safe_xml           XML from anywhere: no declarations of types or entities, bounded in size, depth and count
sensitivity        A reference's sensitivity over frequency, found in any of the shapes in which it is written

Namespaces ``https://ptb.de/dcc`` and ``https://ptb.de/si``. A file is asked for what it says by the tokens of its
``refType``, then by labels, then by the dimension of units, and never by position.
"""
