"""A weather year: read, checked, prepared once and kept."""
