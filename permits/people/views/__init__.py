"""Pages about people; one file for oneself, two for the people of a site."""
