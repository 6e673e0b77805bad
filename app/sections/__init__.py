"""Sections of a take: how they look, their table, and those that are suggested."""
