"""Results to what lasts: executed notebooks that carry their result and provenance."""
