"""The register of a site's results.

read_site         Where the results of a site come from: the register of a records folder
register          The register of a records folder: one row per result, appended and never changed, in one SQLite file
register_records  Records to register rows: one record just made, or all of a folder, from nothing but the records
register_rows     A row of the register: what of a record it holds, and the hash that chains it to the row before
site_export       The matrix of a site for people's own tables: CSV and XLSX

One SQLite file beside the records, one row a result, only ever appended to. Each row's hash covers the hash before it;
AUTOINCREMENT remembers the highest number, so that a cut at the end shows, too. Rollback journal, not a write-ahead
log, for network drives. What a row needs beyond the result stands in the record as ``summary``.
"""
