"""Pages of calibration jobs and of what they need: parse, one call, answer."""
