"""The permit's rules: commands in, events or refusals out. Plain Python, no clock, no database."""
