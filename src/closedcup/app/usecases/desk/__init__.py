"""The desk: who has a sample, how it is kept and labelled, what the customer said, finding it."""
