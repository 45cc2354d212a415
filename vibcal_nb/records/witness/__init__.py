"""The witness of a records folder: a hash chain that is kept elsewhere, by somebody else where possible.

chain      One line an entry, only ever appended, each with the hash of the one before: read, checked, appended to
entries    What is entered: the seals of records and the sums of sign-offs, as the register holds them

Who holds a whole records folder and this package can make another folder in which everything agrees. He cannot make
a chain that lies elsewhere hold what it did not, or take out what it held. The file is plain text, a JSON object a
line, so that it can be printed, mailed, or kept on a drive that allows nothing but appending. An end that was cut off
shows no seam: so the register keeps how many entries a witness had and with which hash it ended, and `run` prints it.
"""
