"""What a notebook's cells call: openers, displays, panels."""
