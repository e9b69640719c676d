"""What the worker does for this stage."""
