"""What a lifter can do now: the load for an effort, and the effort of a load; by the model or by a pinned curve."""
