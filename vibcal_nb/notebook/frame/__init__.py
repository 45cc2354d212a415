"""The frame of a notebook: parameters, refusals, sources.

interactive  Whether a person is at the notebook
opened       What this notebook has opened: the statement of what each of its results is made from
parameters   A notebook's parameters, checked from inside it: papermill passes over names that the notebook does not
refusals     Refusals in a notebook as sentences in a calm box, with the traceback folded away below them
sources      What a record was made from: each part with its sum, and the versions of the software
"""
