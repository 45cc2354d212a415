"""What persons found while exploring, kept beside the readings that it is about. A finding is no record.

finding  One finding: its text, how what was explored differs from the record, its picture, who and when
"""
