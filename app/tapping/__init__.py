"""Tapping along with a take: taps taken in, their lines shown, placed in whole or in part, or dropped."""
