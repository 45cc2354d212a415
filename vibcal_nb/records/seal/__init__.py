"""Sealed records, their pages, their revisions.

failed          A notebook that failed: kept beside, for whoever finds out why
inert_html      HTML that an output holds, for a page on which nothing may act
intact          Is a record's file the one that was sealed? What was changed is named by cell, output or entry
keep            Put an executed notebook in its place as a record: sealed, with its page, the one before set aside
mend            What an interruption left between two revisions, brought to an end by whoever comes next
page            A record as one web page that needs nothing else: no network, no script, no font
page_head       The head of a page: which record, what to know first, links to what lies around it
page_style      The style sheet of a record's page, for the screen and for paper
record_content  What a sealed record says of itself: which record it is, how it was made, its result and inputs
revision        What a new revision says of the one before it: what changed, and who had signed it off
seal            The seal of a record: SHA-256 sums of every part of the notebook, and one digest over them all
set_aside       The earlier revision of a record, copied to superseded/ before a new one takes its place
sources         What of a notebook is executed or read: its cells without outputs and injected parameters
surroundings    The software that shaped a record: Python, this package, every package that it was made with

The seal is in the notebook's metadata: a SHA-256 sum of every part that a sentence can name, what the record was made
from, and one digest over all of it, which stands in the page and in ``results.json`` too. A record's file is kept in
one form, so that no byte of it can change unseen; it is the form in which notebooks are commonly saved. A page is a
function of its record.

A revision is put in place in this order: the earlier record is copied aside with all that lies beside it, its own file
last; the new record takes its place; its page; the earlier sign-offs go. Whatever interrupts that, every file is
whole, nothing is lost, and `mend` tells from what lies there how far it came.
"""
