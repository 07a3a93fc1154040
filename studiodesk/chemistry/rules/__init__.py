"""What sheets ask of the baths: pure decisions and sums.  No Django, no clock."""
