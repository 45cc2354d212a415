"""How many small wrong changes of the mathematics do the tests notice? Run by hand: `python -m tests.mutation`."""
