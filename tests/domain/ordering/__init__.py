"""What becomes of proposals and orders."""
