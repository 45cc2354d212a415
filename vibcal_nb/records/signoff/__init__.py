"""Sign-offs: a person's statement on one record, signed by OpenSSH with the person's own key, or typed only.

allowed_signers  Whose keys count: the list of allowed signers of OpenSSH, line by line
check_signoffs   What the sign-offs beside a record are worth, in words
kept_statement   A statement on one record as a file beside it, which sign-offs and returns are: written, signed, read
places           Where sign-offs, returns and their signatures lie: beside their record, numbered
ssh              ssh-keygen of OpenSSH, which signs and checks signatures
statement        What a sign-off states, and reading it
write_signoff    A sign-off written beside its record, signed where a key is given

A sign-off is a small JSON file beside its record (``....signoff-1.json``); its signature (``....signoff-1.json.sig``)
is made and checked by ``ssh-keygen -Y`` (OpenSSH 8.2 or newer; the format is PROTOCOL.sshsig of OpenSSH). It is of one
seal at one place: copied to another record, or kept beside a later revision, it is told. A signature counts where the
list of allowed signers ties the key to the very name that the sign-off states, at the time at which it was given.
Without a signature a sign-off is what anybody could have typed, and is called that.
"""
