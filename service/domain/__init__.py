"""What events mean: values in, values out. No input or output, no clock, no randomness."""
