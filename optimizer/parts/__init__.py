"""The catalog: a frozen record a kind, read from CSV files that stack on each other."""
