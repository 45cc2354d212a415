"""What a reviewer does with records: sees what needs a decision first, accepts, or returns with a reason.

decide     Records accepted, each with its own remark, or returned: written, signed, entered into the register
duties     Who may review whose work
looked_at  A record as somebody looked at it, to decide on it
queue      The records of a folder in the order in which a reviewer looks at them, each with its reasons
returned   A return: a person's statement that a record is to be corrected; it holds until another revision takes over
seen       Which records somebody has looked at, by their seals

A sign-off says that a record was accepted, a return that it was not. Both are of one seal at one place, and both are
signed by the reviewer's own key, which stays where it is: ssh-keygen signs, itself or by an agent. Who performed the
visit does not review it, unless ``site.toml`` allows it. ISO/IEC 17025:2017, 7.8.2.1 o (who authorises) is claimed by a
sign-off, never by a name that was typed into a file.
"""
