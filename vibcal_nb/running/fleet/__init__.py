"""Notebooks times channels to records.

executors           Where records are made: threads of this process, each with kernels of its own
expected            What the inputs of a record hold when a run begins
held_back           Records that somebody signed off and that a run would supersede: announced before anything is made
make_record         One record: a standard notebook executed by papermill, written whole or not at all
own_notebooks       The package's own notebooks by version: the sum over what each executes
plan                What is to be done: notebooks times channels of some visits
read_result         The result that an executed notebook carries, read back and checked
record_path         Where a record lies under the output folder: asset, visit, channel, test and condition
registering         What `run` does with each finished record besides keeping it
results_file        results.json: one entry per channel, analysis and condition of a visit
run                 Planned records made in parallel, entered into the register, the results of each visit gathered
site_page           The site overview notebook, executed into a records folder, and its page beside it
stamp               What a record was made with: the notebook, by what it executes, and the software
standard_notebooks  Where the standard notebooks are, and which of a folder's are not the package's own

Records are made by any executor of concurrent.futures (twice as many threads as workers, so that one computes while
another is sealed and written, or Dask). Each task checks by itself whether its record is up to date, so that a task
that runs twice gives one record. Results are written visit by visit and not kept in memory. Half-written files are
hidden and carry machine and process in their names; a run removes those whose process is gone. Folders are locked while
a record or results are put there. A record is claimed while it is made, so that several runs into one folder share the
work: what another makes just now is left to it and looked at again in the end. What a record states that it was made
from has to be what the inputs held when the run began; where they were changed meanwhile, it is not kept.
"""
