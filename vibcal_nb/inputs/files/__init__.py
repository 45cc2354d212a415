"""Tables, workbooks, TOML and sampled signals as files hold them.

merge_marks       Marks that version control leaves in a text where two versions could not be merged
numbers_as_typed  Numbers as people type them: a decimal point or comma, and how many digits stand behind it
table_files       Table files as rows of text: CSV in the forms that spreadsheets write, and XLSX
toml_table        A table of a TOML file, taken apart by its keys' descriptions
wav_header        What a WAV file's header states, held against the file itself before anything is read or mapped by
workbook_parts    What the parts of a workbook hold, measured in one pass before a reader builds anything from them
"""
