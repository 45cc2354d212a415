"""Whether a record is what was made, follows from its inputs, and agrees with all that lies beside it.

again/           A record performed again, and everything in it compared
find_inputs      Where the inputs of a record are now
register_of      The register of a records folder as a witness: which seals it ever held
revisions        The chain of a record's revisions: each names the one before it, down to the first
sign_records     Records that were found in order, read once more to be signed off
states           What is said of a file: four words for four things, and what could not be asked
verifier         What is the same for all files of one call: inputs, results files, registers are read once
verify_bundle    A bundle unpacked apart: its manifest, its signature
verify_certificate  A certificate's results made again of the records that it names, and compared
verify_files     Files beside the records verified, and finding all of them in a folder
verify_overview  The overview of a site made again from the register as it is now
verify_record    One record verified: seal, place, notebook, inputs, page, and everything beside it
verify_register  A register verified: its chain, and every row it ever held against the records that are there
verify_witness   A witness kept elsewhere: its chain, and every entry held against the folder
verify_report    A report (PDF) typeset again from the records that it is of

Two questions are kept apart. Does a record follow from what it states that it was made from? If not, it was forged or
altered, which is an alarm. Do the inputs still hold what it states? If not, they have moved on, or somebody made the
record from others: verify cannot tell these apart, a signature or a witness kept elsewhere can.
"""
