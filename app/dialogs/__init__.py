"""Small questions that need a word or a figure."""
