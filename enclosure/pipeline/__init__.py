"""The only place that knows the order: brief to paper, brief to verdict, old to new."""
