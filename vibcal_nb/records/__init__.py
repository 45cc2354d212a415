"""Results to what lasts: executed notebooks that carry their result and provenance.

analyses        The list of analyses: for each the module that knows how it is performed and what it finds
bundle/         A visit in one file to hand over, and one opened by somebody who does not trust it
certificate/    A channel's visit as a Digital Calibration Certificate
compare/        Two records held side by side: what differs between revisions, visits, conditions or channels
entry/          Readings kept as they are taken: journals, and the visit's table brought into line with them
files/          Whole files, locks, places and forms of records
findings/       What persons found while exploring, kept beside the readings that it is about
inputs_used/    What a record states that it was made from, and what changed since
life/           A channel's life gathered from its visits and its records
new_files/      Files of a site for a person to fill in, every key explained, and schemas for editors
perform/        Analyses performed on a visit's folder, and compared with a record
quantities/     Results as the JSON objects of records and results files
old_tables/     Old tables brought into a visit: understood by a layout, shown, and then written
reading_table/  The table to fill in, and rows appended to it
register/       The register of a site's results
report/         The paper of a channel
review/         What a reviewer does with records: sees what needs a decision, accepts, or returns with a reason
seal/           Sealed records, their pages, their revisions
signoff/        Sign-offs: a person's statement on one record, signed by OpenSSH or typed only
witness/        A hash chain kept elsewhere, into which the seals of a folder are entered
"""
