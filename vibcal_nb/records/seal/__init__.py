"""Sealed records, their pages and sign-offs.

failed          A notebook that failed: kept beside, for whoever finds out why
intact          Is a record's file the one that was sealed? What was changed is named by cell, output or entry
keep            Put an executed notebook in its place as a record: sealed, with its page, the one before set aside
page            A record as one web page that needs nothing else: no network, no script, no font
page_style      The style sheet of a record's page, for the screen and for paper
record_content  What a sealed record says of itself: which record it is, how it was made, and its result
seal            The seal of a record: SHA-256 sums of every part of the notebook, and one digest over them all
signoff         Sign-offs: a reviewer's statement on one seal, signed by OpenSSH with the reviewer's own key

The seal is in the notebook's metadata: a SHA-256 sum of every part that a sentence can name, what the record was made
from, and one digest over all of it, which stands in the page and in ``results.json`` too. A record's file is kept in
one form, so that no byte of it can change unseen; it is the form in which notebooks are commonly saved. A page is a
function of its record. Sign-offs leave cryptography to OpenSSH.
"""
