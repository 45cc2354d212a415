"""Whether a record is intact and performs again.

verify_files   Files beside the records verified: pages, sheets, results files, registers
verify_record  One record verified: seal, page, inputs, entry in results.json, sign-offs
"""
