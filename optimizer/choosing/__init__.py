"""Problem -> model -> Kit. The only callers of the solver (with ``optimizer.packing``)."""
