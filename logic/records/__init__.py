"""What was done to a vehicle, kept for ever: store, signed records, labels, bundles."""
