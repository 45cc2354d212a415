"""Results to what a person sees: sentences, tables, figures, what-if panels."""
