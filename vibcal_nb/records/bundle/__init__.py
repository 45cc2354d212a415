"""A visit in one file to hand over: records, pages, report, certificates, inputs, signatures, allowed signers.

contents     Which files of a visit's records and of its site go into it, and under which names
index_page   The page that opens without anything installed: verdicts, and a link to each file
manifest     What a bundle says that it holds: every file by its sum, signed where a key is given
pack         A bundle written: one ZIP file, the same bytes for the same content
unpack       A bundle opened by somebody who does not trust it: names, sizes and sums checked before anything is used

A bundle holds ``index.html``, ``manifest.json`` (with ``manifest.json.sig``), ``allowed_signers``, ``records/`` as
`run` lays them out, with a register of these records alone, and ``inputs/`` laid out as a site. So `verify` asks it
what it asks of any records folder, on any machine.
"""
