"""A second pair of eyes: what in a visit looks wrong although it can be read, each as a question to a person.

question      One question: which file it is about, what it asks
visit_date    The day of the visit against its folder, its certificates and today
letters       Tags, names and serial numbers with letters that a reader takes for others
limits        Limits that a channel lacks, or that contradict each other or the test that was read
stated        What an old table has worked out already, held against what its readings give
copies        Readings that stand in another place to the last digit: an old sheet, another channel's rows
ask           All questions about a visit, those about slips of writing among them (`analysis.slips`)
progress      How far a visit's tests have got, channel by channel

Nothing here refuses or changes anything: whoever knows the machine answers, and corrects the file or leaves it.
"""
