"""Files to validated, frozen objects; every problem of a folder is said at once.

earlier_visits        A visit and those before it, of the same asset: what drift is seen in
given_visits          Visits given in memory in place of files: those that a record states it was made from
load_asset            Assets without their visits: what a plan is made from, before there is anything to analyse
load_visits           Folders to validated visits: every problem of every file is found before anything is refused
load_waveform         Waveform files as arrays: WAV mapped from the disk where it can be, NPZ, other recorders' files
read_equipment        equipment.toml: references, readouts and shakers of a site
read_laid_out         A table that is laid out otherwise, read as the reading table is
read_site_facts       site.toml: what certificates name, and who reviews
read_readings         The reading table, checked row by row against what the asset's channels should be
read_visit            visit.toml: who, when, with what, under which decision rule
read_waveform_list    Sampled signals of a visit: waveforms/waveforms.toml says what each file holds
reading_row           One row of a reading table: each cell checked, each problem a sentence of its own
retaken               Rows of a sheet that were given up and read again further down: they are no longer open
tags                  Tags become names of files and folders: those that could not, or would collide, are refused
certificates/         Digital Calibration Certificates read, and the rules that no schema checks
reference/            References that are a table over frequency, and levels written down as their output
asset/                asset.toml and kinds.toml: an asset over the years
grids/                Tables of any form as they stand in a file: sheets of cells
propose/              A layout proposed for a file, with the reasons and what is still to be stated
layout/               A table that is laid out otherwise to rows of the reading table
signals/              Sampled signals as recorders write them, by name
relay/                From the output to the relay: rows of set points, votes and health; inhibit and return
files/                Tables, workbooks, TOML and sampled signals as files hold them

A waveform's and a table's size are bounded before anything is built of it: a workbook is gone through once by
``files.workbook_parts``; tables end at 200 000 rows, 5 million cells, 50 MB and 10 000 problems.
"""
