"""Whole files, locks, places and forms of records.

canonical     One byte sequence for one content: the form a record's file is kept in
folder_lock   One writer at a time in a folder, among all processes that write there
lean_imports  nbformat without what most of its import takes: grammars of addresses, which no notebook asks for
places        Where the files of a record lie
plain_files   Files read only where they are files: a pipe would never end
whole_files   Files that are there in full or not at all
"""
