"""Golden records are read by tests/records/test_golden_records.py; they are not notebooks to be executed."""

collect_ignore_glob = ["**/*.ipynb", "*/*/*/*/*.ipynb"]
