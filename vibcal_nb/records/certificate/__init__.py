"""A channel's visit as a Digital Calibration Certificate: what its records say, as XML that a machine reads.

administrative     Who, for whom, what, when: the first part of the file
certificate_facts  What a certificate is made of: records, site, sign-offs; and what of it is missing
conditions         Methods, equipment and conditions of a result
elements           Elements of the schema: texts with their language, identifications, parties
entry_quantities   A result's entry taken apart: scalars, tables, each number with its unit and uncertainty
key_tables         What the keys of an entry are: unit, published or private refType, whose uncertainty
quantity_xml       Quantities as elements: lists with expanded uncertainty, single values, words
read_back          Quantities of a certificate by the keys of the entry that they came from
write_certificate  The whole file, and its place beside the records

Schema: Physikalisch-Technische Bundesanstalt, Digital Calibration Certificate 3.3.0; units by D-SI. Every number is
the sealed record's own, converted by an exact factor where D-SI lacks its unit; none is rounded. What the site's files
do not state is listed and written as *not recorded*; nothing is invented.
"""
