"""Pages of the permit's life: parse, one call, answer. One file per topic."""
