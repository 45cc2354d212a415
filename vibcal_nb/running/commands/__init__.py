"""The command line.

attention    What needs attention after a run, the worst first
check        `check`: are the tables and files of the folders' visits usable? Nothing is executed or written
cli          The command line: one small module a command, every refusal a sentence, never a traceback
compare      `compare`: what differs between two records
desk/        What is done with records that are made: reviewed, handed over, certified
exit_status  What the command line says to the shell when it ends
import_tables  `import`: old tables into a visit, by a layout that a person has read; shown first
new          `new`: a site, an asset or a visit to fill in, every key explained
overview     `overview`: the site on one page, from the register of a records folder
run          `run`: make the records of the folders' visits
sheet        `sheet`: a reading table to fill in at the next visit, planned to what the shaker reaches
terminal     Words for a terminal: on one line each, coloured where a person looks at them
verify       `verify`: is this record intact, does it follow from its inputs, who signed it off? And `--sign`
"""
