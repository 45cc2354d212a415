"""Notebooks times channels to records.

earlier_visits      What a record that looks into the asset's earlier visits is made from, beside its own visit
executors           Where records are made: threads of this process, each with kernels of its own
fingerprint         What a record was made from, as SHA-256 sums: where they are still the same
make_record         One record: a standard notebook executed by papermill, written whole or not at all
read_result         The result that an executed notebook carries, read back and checked
record_path         Where a record lies under the output folder: asset, visit, channel, test and condition
registering         What `run` does with each finished record besides keeping it
results_file        results.json: one entry per channel, analysis and condition of a visit
run                 Standard notebooks times channels: plan the records of some visits, make them in parallel
site_page           The site overview notebook, executed into a records folder, and its page beside it
standard_notebooks  Where the standard notebooks are

Records are made by any executor of concurrent.futures (twice as many threads as workers, so that one computes while
another is sealed and written, or Dask). Each task checks by itself whether its record is up to date, so that a task
that runs twice gives one record. Results are written visit by visit and not kept in memory. Half-written files are
hidden and carry machine and process in their names; a run removes those whose process is gone. Folders are locked while
a record or results are put there (not on Windows, which cannot lock a folder).
"""
