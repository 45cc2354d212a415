"""What explains a channel that fails, and what to measure next.

behaviour         What the readings do, test by test, whether or not any family explains it
chain_model       What a vibration channel does to a sine, as one closed-form model of sensor, joint, cable
doubted_rows      Slips of writing before faults: rows that a person is asked about first
explanation       What an explanation is, and the ranking of all of them
fault_families    The families of faults: which parameters of the chain they move
fault_fit         Fit every variant of every family to all readings of a channel at once
fault_pairs       Two faults at once
fault_readings    All readings of one channel in one condition, with the covariance of their errors
fault_search      The search for the best parameters of many variants at once, all readings and all rows in one array
fault_size        What a fit asks for that it does not name, and whether what it names is there at all
faults            What explains a channel's readings: every family of faults fitted to all of them, ranked
lost_contact      What is looked for in single rows: a contact that was lost, a gain that jumped
next_measurement  What to measure next: the reading, or the check, that is expected to separate the explanations best
ranking           Weights of the explanations, and which are alike

One closed-form model of sensor, joint, cable, module and detector; a family of faults is that model with some
parameters away from healthy, each with the spread that is plausible (judgement). All variants of all families are
fitted to all readings at once, whitened by their full covariance, and weighed by Laplace's evidence. Further readings
are ranked by mutual information.
"""
