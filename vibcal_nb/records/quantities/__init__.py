"""Results as the JSON objects of records and results files."""
