"""Commands of the calibration room."""
