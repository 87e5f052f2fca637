"""Pure rules of calibration: lengths, adjust or leave, which axis, the correction, charts over time."""
