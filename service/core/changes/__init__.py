"""A template changed by operations, and what is different between two versions, in words and numbers."""
