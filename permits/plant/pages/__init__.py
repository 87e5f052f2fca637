"""What the officer's pages show, as values that are complete; one file for each kind of page."""
