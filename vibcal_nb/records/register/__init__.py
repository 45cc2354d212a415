"""The register of a site's results.

documents         What is no record and is entered all the same: sign-offs and reports, by their sums
read_site         Where the results of a site come from: the register of a records folder
rebuild           A register made anew from the records, beside whoever writes to it
record_place      Where a record lies, and where one of its asset, visit, channel, analysis and condition belongs
register          The register of a records folder: one row per result, appended and never changed, in one SQLite file
register_records  Records to register rows: one record just made, or all of a folder, from nothing but the records
register_rows     A row of the register: what of a record it holds, and the hash that chains it to the row before
tags              Tags that changed and channels that were retired, kept beside an asset's records
returned_records  Records that a reviewer returned and that no other revision replaced
site_export       The matrix of a site for people's own tables: CSV and XLSX
team_register     One register for several sites and machines: a PostgreSQL database, with the same rows and chain

One SQLite file beside the records, one row a result, only ever appended to. Each row's hash covers the hash before it;
AUTOINCREMENT remembers the highest number, so that a cut at the end shows, too. Rollback journal, not a write-ahead
log, for network drives. What a row needs beyond the result stands in the record as ``summary``. A
rebuild sets the register before it aside, says what it held and nothing holds any more, and loses no row that is
appended meanwhile.
"""
