"""The athlete's model: what a lifter can do today, how sure that is, and what each logged set taught."""
