"""What every print shares: embedded fonts for any script, and the page's frame."""
