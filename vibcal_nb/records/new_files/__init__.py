"""Files of a site for a person to fill in, every key explained where it stands, and schemas for editors.

explained    A table of keys as TOML to fill in: what is given, what is needed, what is optional
file_texts   equipment.toml, kinds.toml, asset.toml and visit.toml to fill in
changed      TOML texts with values changed or tables added; what a person wrote stays as it is, comments too
typed        What a person types into a form, as the value that TOML would hold
schemas      JSON Schemas of the files, from the tables of keys: editors complete keys and explain them
write_new    Which files a folder wants, and writing those that are not there

Needed values stand open, as empty texts: ``check`` names each of them until it is filled in. Optional ones stand behind
a comment mark. An example is never a live value, because what nobody stated must not judge a channel.
"""
