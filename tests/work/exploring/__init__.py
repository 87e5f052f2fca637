"""An exhaustive walk through the pure core for small plants, and what each guard prevents.

`.venv/bin/python -m tests.work.exploring` walks, takes each guard away, and prints the two tables of
TABLE.md.
"""
