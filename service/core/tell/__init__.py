"""What the model says, in sentences that a lifter understands: what was learnt, how sure it is, what to expect."""
