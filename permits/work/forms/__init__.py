"""Forms of a permit's commands: they parse, and word what was wrong; the rules decide. One file per topic."""
