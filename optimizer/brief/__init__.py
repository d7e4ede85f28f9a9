"""The brief: what the person asks for, a file a topic."""
