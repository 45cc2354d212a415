"""What a notebook's cells call: openers, displays, panels.

at_the_shaker  What the notebook at the shaker calls: open a visit, show what is planned, and the screen
channel        What the record of a channel verdict calls: open all tests of a channel
compare        What the comparison's notebook calls: open two records, or readings in their place
describe_site  What the notebook for describing a site calls: open what is stated, show it, change it in place
drift          What the drift notebook calls to open a channel's history, after checking its parameters
fault_finding  What the fault-finding notebook calls: open a channel, show what explains it, find by hand
life           What the channel history notebook calls: gather a channel's life over its visits
old_tables     What the notebook for old tables calls: open a file by a layout, show what it makes out
planning       What the planning notebook calls: the plan for one channel, and what a visit would be made with
record         What a record notebook calls: open the case its parameters name, and put the result into the record
review         What the review notebook calls: open the queue of a folder of records, or a visit's readings
site           What the site overview notebook calls: open the site its parameters name, and look at it
waveforms      What the waveform notebook calls: open a visit's waveforms, read them
frame/         The frame of a notebook: parameters, refusals, sources
panels/        What-if controls where a person is at the notebook
shaker/        At the shaker: readings entered one by one and answered at once
touch/         The figure that a person touches
show/          One call, one display
"""
